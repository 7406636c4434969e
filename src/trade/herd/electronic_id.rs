//! Electronic ids of animals (ISO 11784): 15 digits, of which the first three are a country
//! (ISO 3166 numeric), a manufacturer (900 to 998) or the test code 999, and the other twelve a
//! national number that fits in 38 bits.

use crate::base::error::{Code, Finding, quoted};
pub use crate::base::units::digits;

/// The largest national number: 38 bits.
pub const MOST_NATIONAL: u64 = (1 << 38) - 1;

/// Digits of an electronic id.
const DIGITS: usize = 15;

/// Countries by their number (ISO 3166-1), in order.
const COUNTRIES: [u16; 249] = [
    4, 8, 10, 12, 16, 20, 24, 28, 31, 32, 36, 40, 44, 48, 50, 51, 52, 56, 60, 64, 68, 70, 72, 74,
    76, 84, 86, 90, 92, 96, 100, 104, 108, 112, 116, 120, 124, 132, 136, 140, 144, 148, 152, 156,
    158, 162, 166, 170, 174, 175, 178, 180, 184, 188, 191, 192, 196, 203, 204, 208, 212, 214, 218,
    222, 226, 231, 232, 233, 234, 238, 239, 242, 246, 248, 250, 254, 258, 260, 262, 266, 268, 270,
    275, 276, 288, 292, 296, 300, 304, 308, 312, 316, 320, 324, 328, 332, 334, 336, 340, 344, 348,
    352, 356, 360, 364, 368, 372, 376, 380, 384, 388, 392, 398, 400, 404, 408, 410, 414, 417, 418,
    422, 426, 428, 430, 434, 438, 440, 442, 446, 450, 454, 458, 462, 466, 470, 474, 478, 480, 484,
    492, 496, 498, 499, 500, 504, 508, 512, 516, 520, 524, 528, 531, 533, 534, 535, 540, 548, 554,
    558, 562, 566, 570, 574, 578, 580, 581, 583, 584, 585, 586, 591, 598, 600, 604, 608, 612, 616,
    620, 624, 626, 630, 634, 638, 642, 643, 646, 652, 654, 659, 660, 662, 663, 666, 670, 674, 678,
    682, 686, 688, 690, 694, 702, 703, 704, 705, 706, 710, 716, 724, 728, 729, 732, 740, 744, 748,
    752, 756, 760, 762, 764, 768, 772, 776, 780, 784, 788, 792, 795, 796, 798, 800, 804, 807, 818,
    826, 831, 832, 833, 834, 840, 850, 854, 858, 860, 862, 876, 882, 887, 894,
];

/// Holds the digits of an electronic id against ISO 11784.
///
/// # Errors
/// Which check failed: the number of digits, the first three, or the other twelve.
pub fn check(digits: &str) -> Result<(), Finding> {
    let fault = |what: String, expected: &str, hint: &str| {
        Err(Finding::error(Code::ElectronicId, what)
            .expected(expected)
            .hint(hint))
    };
    if digits.len() != DIGITS {
        return fault(
            format!(
                "the electronic id {} has {} digits",
                quoted(digits),
                digits.len()
            ),
            "15 digits: three of the country or maker, twelve of the animal",
            "read the tag again; a tag number of your own should be shorter than 14 digits, or have a letter",
        );
    }
    let (lead, national) = digits.split_at(3);
    let known = lead
        .parse::<u16>()
        .is_ok_and(|n| n >= 900 || COUNTRIES.binary_search(&n).is_ok());
    if !known {
        let digits = quoted(digits);
        return fault(
            format!("the electronic id {digits} begins with {lead}, which is no country"),
            "a country's number (ISO 3166, such as 840 or 124), a maker's from 900 to 998, or 999 for tests",
            "read the first three digits of the tag again",
        );
    }
    let fits = national.parse::<u64>().is_ok_and(|n| n <= MOST_NATIONAL);
    if !fits {
        return fault(
            format!(
                "the electronic id {} has the animal number {national}, which no tag can hold",
                quoted(digits)
            ),
            "at most 274877906943 after the first three digits (38 bits)",
            "read the last twelve digits of the tag again",
        );
    }
    Ok(())
}

/// True if a spreadsheet has written a long number by its power of ten, as `9.99E+14`: its last
/// digits are lost.
#[must_use]
pub fn is_shortened(id: &str) -> bool {
    let Some((number, power)) = id.split_once(['E', 'e']) else {
        return false;
    };
    number.starts_with(|c: char| c.is_ascii_digit())
        && number
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        && power.starts_with('+')
        && power[1..].len() == 2
        && power[1..].bytes().all(|b| b.is_ascii_digit())
}

/// The finding for such a number, and what the animal is called instead.
pub fn shortened(id: &str, stand_in: &str) -> Finding {
    let (id, stand_in) = (quoted(id), quoted(stand_in));
    Finding::warning(
        Code::ElectronicId,
        format!("the spreadsheet has rounded an electronic id to {id}: the animal is called {stand_in}"),
    )
    .expected("all 15 digits")
    .hint("its last digits are gone from this file: set the column's format to text, read the tags in again, and save anew")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(id: &str) -> String {
        let digits = digits(id).unwrap();
        check(&digits).unwrap_err().what
    }

    #[test]
    fn each_check_says_what_failed() {
        for good in [
            "999000000000001",
            "840003123456789",
            "982 000123456789",
            "999274877906943",
            "004000000000000",
        ] {
            assert!(check(&digits(good).unwrap()).is_ok(), "{good}");
        }
        assert!(fault("99900000000001").contains("has 14 digits"));
        assert!(fault("9990000000000011").contains("has 16 digits"));
        assert!(fault("899000000000001").contains("899, which is no country"));
        assert!(fault("000000000000001").contains("000, which is no country"));
        assert!(fault("999274877906944").contains("no tag can hold"));
    }

    #[test]
    fn tags_are_not_taken_for_electronic_ids() {
        for tag in ["17", "B 204", "1234567890123", "99900000000001a", ""] {
            assert_eq!(digits(tag), None, "{tag}");
        }
    }

    #[test]
    fn rounded_numbers_are_seen() {
        assert!(is_shortened("9.99E+14") && is_shortened("1E+15") && is_shortened("9,99e+14"));
        for tag in ["E+14", "9E14", "9.99E+1x", "HE+14", "9E+éa"] {
            assert!(!is_shortened(tag), "{tag}");
        }
    }

    #[test]
    fn countries_are_in_order() {
        assert!(COUNTRIES.windows(2).all(|w| w[0] < w[1]));
    }
}
