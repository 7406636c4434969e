//! The order list as a table for spreadsheets.

use chrono::NaiveDate;

use super::table;
use crate::supplies::Answer;

/// One table: a row for each use of a pass (`use`), for each size of package to buy (`buy`), for
/// straws (`straws`) and fillings (`nitrogen`). Cells that a spreadsheet would run as formulas
/// begin with an apostrophe.
#[must_use]
pub fn csv(a: &Answer) -> String {
    let mut text = String::from(
        "row,item,name,date,order_by,group,pen,pass,head,amount,unit,package_size,package_unit,packages,price\n",
    );
    for item in &a.items {
        let name = item.own_name.as_ref().unwrap_or(&item.name);
        for d in &item.days {
            for p in &d.passes {
                let mut row = row("use", &item.item, name, Some(d.date));
                row[5].clone_from(&p.group);
                row[6] = p.pen.map_or(String::new(), |n| n.to_string());
                row[7].clone_from(&p.pass);
                row[8] = p.head.to_string();
                row[9] = p.amount.to_string();
                row[10].clone_from(&item.unit);
                table::line(&row, &mut text);
            }
        }
        for p in item.buy.iter().flat_map(|b| &b.packages) {
            let mut row = row("buy", &item.item, name, item.first_use);
            row[4] = item.order_by.map_or(String::new(), |d| d.to_string());
            row[11] = p.size.to_string();
            row[12] = item.buy_unit.clone().unwrap_or_default();
            row[13] = p.count.to_string();
            row[14] = p.price.map_or(String::new(), |x| x.to_string());
            table::line(&row, &mut text);
        }
        if item.buy.is_none()
            && let Some(n) = item.to_cover
        {
            let mut row = row("buy", &item.item, name, item.first_use);
            row[4] = item.order_by.map_or(String::new(), |d| d.to_string());
            row[9] = n.to_string();
            row[10] = item.buy_unit.clone().unwrap_or_default();
            table::line(&row, &mut text);
        }
    }
    for b in &a.straws {
        for d in &b.days {
            let mut row = row("straws", &b.bull, &b.name, Some(d.date));
            row[7].clone_from(&d.session);
            row[9] = d.straws.to_string();
            "straws".clone_into(&mut row[10]);
            table::line(&row, &mut text);
        }
        if b.to_buy > 0 {
            let mut row = row("buy", &b.bull, &b.name, b.first_use);
            row[4] = b.order_by.map_or(String::new(), |d| d.to_string());
            row[9] = b.to_buy.to_string();
            "straws".clone_into(&mut row[10]);
            table::line(&row, &mut text);
        }
    }
    for g in &a.lacking_straws {
        let mut row = row("buy", "straws", &g.bulls.join(" or "), g.first_use);
        row[4] = g.order_by.map_or(String::new(), |d| d.to_string());
        row[5].clone_from(&g.group);
        row[9] = g.straws.to_string();
        "straws".clone_into(&mut row[10]);
        table::line(&row, &mut text);
    }
    for t in &a.nitrogen {
        for f in &t.fills {
            let mut row = row("nitrogen", &t.tank, &t.name, Some(f.date));
            row[4] = f.order_by.map_or(String::new(), |d| d.to_string());
            row[9] = f.liters.map_or(String::new(), |l| l.to_string());
            "L".clone_into(&mut row[10]);
            table::line(&row, &mut text);
        }
    }
    text
}

fn row(kind: &str, item: &str, name: &str, date: Option<NaiveDate>) -> Vec<String> {
    let mut row = vec![String::new(); 15];
    kind.clone_into(&mut row[0]);
    item.clone_into(&mut row[1]);
    name.clone_into(&mut row[2]);
    row[3] = date.map_or(String::new(), |d| d.to_string());
    row
}
