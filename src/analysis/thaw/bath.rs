//! The heat of a thaw bath: what frozen straws take from it, and what brings it back.
//!
//! A straw is counted as water: warmed as ice from the boiling point of nitrogen, melted, and warmed
//! to the bath. Its wall, nitrogen on it, cold forceps and air come on top; the glycerol and yolk in
//! it take a little less. All constants are from memory (they stand in the usual tables).

use super::answer::{BathFigures, TechnicianThaw, Volume};
use crate::base::units::{celsius, fahrenheit, hundredths, rounded};
use crate::trade::season::{Bath, Season, pace};

/// Boiling point of nitrogen, kelvin (from memory).
const NITROGEN_K: f64 = 77.35;
/// Melting point of ice, kelvin.
const MELTING_K: f64 = 273.15;
/// Heat to melt ice, kJ/kg (from memory).
const MELTING: f64 = 333.6;
/// Heat capacity of water, 0 to 35 C, kJ/(kg K) (from memory).
const WATER: f64 = 4.18;
/// Heat capacity of ice, J/(kg K): 7.49 T + 90, T in kelvin (from memory).
const ICE: (f64, f64) = (7.49, 90.0);
/// Kilograms of a litre of water, rounded.
const LITRE_KG: f64 = 1.0;

/// A bath starts at 95 F (SUMMER-AI).
const START_F: f64 = 95.0;
/// And is never below 92 F (SUMMER-AI).
const LEAST_F: f64 = 92.0;
/// Nor above 98 F (KSU-BT).
const MOST_F: f64 = 98.0;

/// Volumes shown where the season file has none, in litres.
const SHOWN: [f64; 4] = [0.25, 0.5, 1.0, 2.0];

/// The heat in joules that warms a straw of so many millilitres, a gram each, from the boiling point
/// of nitrogen to a bath of so many degrees Celsius.
fn joules_a_straw(straw_ml: f64, bath_c: f64) -> f64 {
    let (slope, base) = ICE;
    let squares = MELTING_K.powi(2) - NITROGEN_K.powi(2);
    // J/g: the same as kJ/kg.
    let ice = (slope / 2.0 * squares + base * (MELTING_K - NITROGEN_K)) / 1000.0;
    straw_ml * (ice + MELTING + WATER * bath_c)
}

/// Joules that warm so many litres of water by one degree Celsius.
fn joules_a_degree(liters: f64) -> f64 {
    liters * LITRE_KG * WATER * 1000.0
}

/// Degrees Celsius that so much water loses to a straw.
fn degrees_a_straw(straw_ml: f64, liters: f64) -> f64 {
    joules_a_straw(straw_ml, celsius(START_F)) / joules_a_degree(liters)
}

/// Straws that so much water thaws, without heat, from 95 F until it would be below 92 F.
fn straws_in_range(straw_ml: f64, liters: f64) -> u32 {
    let band = celsius(START_F) - celsius(LEAST_F);
    (band / degrees_a_straw(straw_ml, liters) + 1e-9).floor() as u32
}

/// Litres in which so many straws keep a bath in its range without heat.
fn least_liters(straw_ml: f64, straws: u32) -> f64 {
    let band = celsius(START_F) - celsius(LEAST_F);
    f64::from(straws) * degrees_a_straw(straw_ml, 1.0) / band
}

/// Litres of hot water that bring a bath from 92 F back to 95 F: added, or in place of as much taken
/// out first. None if that water is no warmer than the bath.
fn hot_water(liters: f64, hot_c: f64) -> Option<(f64, f64)> {
    let (start, least) = (celsius(START_F), celsius(LEAST_F));
    (hot_c > start + 1e-9).then(|| {
        let short = liters * (start - least);
        (short / (hot_c - start), short / (hot_c - least))
    })
}

/// Degrees Celsius a minute that a heater wins back.
fn degrees_a_minute(watts: f64, liters: f64) -> f64 {
    watts * 60.0 / joules_a_degree(liters)
}

/// The figures of a site's bath for the straws of a session.
pub(super) fn figures(season: &Season, bath: &Bath, crew: &[TechnicianThaw]) -> BathFigures {
    let straws = || crew.iter().flat_map(|t| &t.rounds).flat_map(|r| &r.straws);
    let straw_ml = straws().map(|s| s.straw_ml).fold(0.0, f64::max);
    let joules = joules_a_straw(straw_ml, celsius(START_F));
    let at_once: u32 = crew.iter().map(|t| t.straws_at_once.min(t.head)).sum();
    // Everyone at full pace.
    let counted = |t: &TechnicianThaw| {
        let of = season.crew.iter().find(|c| c.id.as_str() == t.id)?;
        let rounds = pace::rounds_of(of, &season.rules, t.straws_at_once)?;
        Some(rounds.cows_per_hour())
    };
    let watts = crew.iter().filter_map(|t| {
        let rows = if t.helper { &t.helped } else { &t.alone };
        let own = rows.iter().find(|r| r.planned);
        let per_hour = own.map(|r| r.head_per_hour).or_else(|| counted(t))?;
        Some(per_hour * joules / 3600.0)
    });
    let watts: f64 = watts.sum();
    let volumes: Vec<f64> = bath.liters.map_or(SHOWN.to_vec(), |l| vec![l]);
    let thousandths = |x: f64| rounded(x, 3);
    let volume = |liters: f64| {
        let lost = degrees_a_straw(straw_ml, liters);
        let won = degrees_a_minute(bath.heater_watts, liters);
        let hot = hot_water(liters, bath.hot_water_c);
        Volume {
            liters,
            straw_c: thousandths(lost),
            straw_f: thousandths(lost * 1.8),
            straws: straws_in_range(straw_ml, liters),
            add_liters: hot.map(|h| thousandths(h.0)),
            swap_liters: hot.map(|h| thousandths(h.1)),
            heater_c_a_minute: thousandths(won),
            heater_f_a_minute: thousandths(won * 1.8),
            heater_seconds_a_straw: (bath.heater_watts > 0.0)
                .then(|| hundredths(joules / bath.heater_watts)),
        }
    };
    BathFigures {
        liters: bath.liters,
        heater_watts: bath.heater_watts,
        hot_water_f: hundredths(fahrenheit(bath.hot_water_c)),
        hot_water_c: hundredths(bath.hot_water_c),
        straw_ml,
        joules_a_straw: hundredths(joules),
        range_f: [START_F, LEAST_F, MOST_F],
        range_c: [START_F, LEAST_F, MOST_F].map(|f| hundredths(celsius(f))),
        straws_at_once: at_once,
        // Rounded up: less is too little.
        least_liters: (least_liters(straw_ml, at_once) * 100.0).ceil() / 100.0,
        watts_for_pace: hundredths(watts),
        volumes: volumes.into_iter().map(volume).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: f64, b: f64, within: f64) {
        assert!((a - b).abs() <= within, "{a} {b}");
    }

    /// By hand, for half a gram: ice from 77.35 K by 7.49 T + 90 J/(kg K) is 3.745 x (273.15 squared
    /// less 77.35 squared) + 90 x 195.8 = 274.6 kJ/kg; melting 333.6; water to 35 C 4.18 x 35 = 146.3.
    /// Half a gram of 754.5 kJ/kg is 377 J.
    #[test]
    fn a_straw_takes_377_joules() {
        near(joules_a_straw(1.0, 0.0) - 333.6, 274.6, 0.05);
        near(joules_a_straw(0.5, 35.0), 377.0, 0.5);
        near(joules_a_straw(0.25, 35.0), 189.0, 0.5);
    }

    /// 377 J by 0.25 kg x 4.18 kJ/(kg K) is 0.361 C, and so on.
    #[test]
    fn degrees_lost_a_straw_by_hand() {
        for (liters, half, quarter) in [
            (0.25, 0.361, 0.181),
            (0.5, 0.181, 0.090),
            (1.0, 0.090, 0.045),
            (2.0, 0.045, 0.023),
        ] {
            near(degrees_a_straw(0.5, liters), half, 0.000_6);
            near(degrees_a_straw(0.25, liters), quarter, 0.000_6);
        }
        // Ten straws in a quarter of a litre: 3.6 C.
        near(10.0 * degrees_a_straw(0.5, 0.25), 3.6, 0.05);
    }

    /// From 95 to 92 F are 1.667 C: 1.667 x 4.18 / 0.377 = 18.5 straws a litre; ten want 0.54 L, and
    /// a quarter of a litre holds four.
    #[test]
    fn straws_until_a_bath_leaves_its_range_by_hand() {
        assert_eq!(straws_in_range(0.5, 1.0), 18);
        assert_eq!(straws_in_range(0.5, 0.25), 4);
        assert_eq!(straws_in_range(0.25, 1.0), 36);
        near(least_liters(0.5, 10), 0.54, 0.005);
    }

    /// 120 F is 48.89 C, 13.89 C above 95 F and 15.56 C above 92 F: 1.667 / 13.89 of a litre is
    /// 0.120 L, or 1.667 / 15.56 = 0.107 L in place of as much.
    #[test]
    fn hot_water_by_hand() {
        let (add, swap) = hot_water(1.0, celsius(120.0)).unwrap();
        near(add, 0.120, 0.000_5);
        near(swap, 0.107, 0.000_5);
        // Mixed, both are at 95 F again.
        let mixed =
            |cold: f64, hot: f64| (cold * celsius(92.0) + hot * celsius(120.0)) / (cold + hot);
        near(mixed(1.0, add), 35.0, 1e-9);
        near(mixed(1.0 - swap, swap), 35.0, 1e-9);
        assert_eq!(hot_water(1.0, 35.0), None);
    }

    /// 100 W for a minute are 6,000 J; a litre takes 4,180 J a degree: 1.435 C a minute.
    #[test]
    fn a_heater_by_hand() {
        near(degrees_a_minute(100.0, 1.0), 1.435, 0.000_5);
        near(degrees_a_minute(0.0, 1.0), 0.0, 0.0);
    }

    #[test]
    fn degrees_go_both_ways() {
        near(celsius(95.0), 35.0, 1e-9);
        near(fahrenheit(35.0), 95.0, 1e-9);
        // Nitrogen boils at -196 C, -320 F (MU-G2002, WISC-TANK).
        near(NITROGEN_K - 273.15, -196.0, 0.5);
        near(fahrenheit(NITROGEN_K - 273.15), -320.0, 1.0);
    }
}
