//! The rules for what a group wishes of its protocol and start.

use super::raw;
use super::rules::Rulebook;
use crate::base::error::{Code, did_you_mean, nearest, quoted};
use crate::base::time::parse_clock;
use crate::trade::protocol::Cattle;

impl Rulebook<'_> {
    /// A group has a protocol and a start, or wishes for `choose`.
    pub(super) fn group_form(&mut self, n: usize) {
        let g = &self.raw.groups[n];
        let missing = match (&g.protocol, &g.start, &g.wishes) {
            (Some(_), Some(_), _) | (None, None, Some(_)) => return,
            (Some(_), None, _) => "a protocol and no start",
            (None, Some(_), _) => "a start and no protocol",
            (None, None, None) => "no protocol and no start",
        };
        let field = format!("groups[{n}]");
        let what = format!("this group has {missing}");
        let expected = "`protocol` and `start`, or `wishes` and neither of the two";
        let hint = "with wishes, `thawline choose` looks for a protocol and a start";
        self.fault(Code::GroupForm, &field, what, expected, hint);
    }

    pub(super) fn wishes(&mut self, n: usize) {
        let raw = self.raw;
        let Some(w) = &raw.groups[n].wishes else {
            return;
        };
        let field = format!("groups[{n}].wishes");
        for (key, date) in [
            ("breed_from", &w.breed_from),
            ("breed_to", &w.breed_to),
            ("first_calves_from", &w.first_calves_from),
            ("bulls_in", &w.bulls_in),
        ] {
            if let Some(date) = date {
                self.date(&format!("{field}.{key}"), date);
            }
        }
        if let (Some(a), Some(b)) = (&w.breed_from, &w.breed_to)
            && a > b
        {
            let field = format!("{field}.breed_to");
            let what = format!("breeding is to end on {b}, before it may begin on {a}");
            let expected = "a date not before `breed_from`";
            let hint = "correct one of the two";
            self.fault(Code::WishForm, &field, what, expected, hint);
        }
        self.wish_bounds(&field, w);
        self.known_protocols(&format!("{field}.protocols"), n, &w.protocols);
        self.known_protocols(&format!("{field}.leave_out"), n, &w.leave_out);
        self.suited(&field, w);
        for (k, both) in w.protocols.iter().enumerate() {
            if w.leave_out.contains(both) {
                let field = format!("{field}.protocols[{k}]");
                let what = format!("{} is also to be left out", quoted(both));
                let expected = "a protocol in one of the two lists";
                let hint = "remove it from one of them";
                self.fault(Code::WishForm, &field, what, expected, hint);
            }
        }
        if let Some(h) = &w.work_hours {
            self.clock_span(&format!("{field}.work_hours"), h);
        }
        if let Some(every) = w.start_every_minutes
            && ![15, 30, 60].contains(&every)
        {
            let field = format!("{field}.start_every_minutes");
            let what = format!("starts are not looked at every {every} minutes");
            let hint = "60 suits most groups";
            self.fault(Code::OutOfRange, &field, what, "15, 30 or 60", hint);
        }
    }

    /// Breeding must be bounded on both sides: between them every start is looked at.
    fn wish_bounds(&mut self, field: &str, w: &raw::Wishes) {
        let from = w.breed_from.as_ref().or(w.first_calves_from.as_ref());
        let to = w.breed_to.as_ref().or(w.bulls_in.as_ref());
        let open = match (from, to) {
            (None, None) => "these wishes name no date",
            (None, Some(_)) => "these wishes do not say from when to breed",
            (Some(_), None) => "these wishes do not say until when to breed",
            (Some(_), Some(_)) => return,
        };
        let expected = "`breed_from` or `first_calves_from`, and `breed_to` or `bulls_in`";
        let hint = "for instance `breed_from: 2027-05-20` and `breed_to: 2027-06-05`";
        self.fault(Code::WishForm, field, open, expected, hint);
    }

    fn clock_span(&mut self, field: &str, span: &raw::ClockSpan) {
        for (key, text) in [("from", &span.from), ("to", &span.to)] {
            self.clock(&format!("{field}.{key}"), text, false, "06:00");
        }
        if let (Some(from), Some(to)) = (parse_clock(&span.from), parse_clock(&span.to))
            && from >= to
        {
            let what = "these hours end before they begin";
            let expected = "`from` before `to`, on one day";
            let hint = "for work at any hour leave `work_hours` out";
            self.fault(Code::HourForm, field, what, expected, hint);
        }
    }

    /// The protocols named are published for the group's cattle and semen.
    fn suited(&mut self, field: &str, w: &raw::Wishes) {
        let cattle = w.cattle.unwrap_or(Cattle::Beef);
        let semen = w.semen.unwrap_or_default();
        for (k, id) in w.protocols.iter().enumerate() {
            let Some(p) = self.library.get(id) else {
                continue;
            };
            let words = |all: Vec<&str>| all.join(" and ");
            let (is, wants, key) = if !p.cattle.contains(&cattle) {
                let is = words(p.cattle.iter().map(|c| c.as_str()).collect());
                (is, cattle.as_str(), "cattle")
            } else if !p.semen.contains(&semen) {
                let is = words(p.semen.iter().map(|s| s.as_str()).collect());
                (format!("{is} semen"), semen.as_str(), "semen")
            } else if p.research && !w.research {
                let is = "research, on no list of recommended protocols".to_owned();
                (is, "recommended ones", "research: true")
            } else if p.second_service {
                let is = "a second service".to_owned();
                (is, "a first one", "")
            } else {
                continue;
            };
            let id = quoted(id);
            self.fault(
                Code::WishForm,
                &format!("{field}.protocols[{k}]"),
                format!("{id} is published for {is}, and the wish is for {wants}"),
                format!("a protocol for {wants}"),
                if p.second_service {
                    "plan it as a group of its own, with `protocol` and `start`".to_owned()
                } else {
                    format!("name another, or say `{key}` in the wishes")
                },
            );
        }
    }

    fn known_protocols(&mut self, field: &str, n: usize, ids: &[String]) {
        let class = self.class_of(n);
        for (k, id) in ids.iter().enumerate() {
            let at = format!("{field}[{k}]");
            match self.library.get(id) {
                None => self.add(&at, self.library.unknown(id, class)),
                Some(p) if !p.class.serves(class) => {
                    let near = nearest(
                        id,
                        self.library
                            .iter()
                            .filter(|p| p.class.serves(class))
                            .map(|p| p.id.as_str()),
                    );
                    self.fault(
                        Code::ClassMismatch,
                        &at,
                        format!(
                            "{} is published for {}s, and this group is of {}s",
                            quoted(id),
                            p.class.as_str(),
                            class.as_str()
                        ),
                        format!("a protocol for {}s", class.as_str()),
                        did_you_mean(
                            near,
                            format!("`thawline protocols --class {}` lists them", class.as_str()),
                        ),
                    );
                }
                Some(_) => {}
            }
        }
    }
}
