//! Choosing protocols by what they are for and what they ask.

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::{Cattle, Class, Kind, Library, Protocol, Semen};

/// One thing that a protocol must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Published for these cattle.
    Class(Class),
    /// Breeds in this way.
    Kind(Kind),
    /// Published for these cattle, beside their class.
    Cattle(Cattle),
    /// Published for this semen.
    Semen(Semen),
    /// Days from the first treatment to the first breeding, at the most.
    MostDays(u32),
    /// Trips through the chute, breeding included, at the most.
    MostPasses(u32),
}

impl Wish {
    /// True if a protocol is so.
    #[must_use]
    pub fn suits(self, protocol: &Protocol) -> bool {
        match self {
            Self::Class(class) => protocol.class.serves(class),
            Self::Kind(kind) => protocol.kind == kind,
            Self::Cattle(cattle) => protocol.cattle.contains(&cattle),
            Self::Semen(semen) => protocol.semen.contains(&semen),
            Self::MostDays(days) => protocol.days_to_breeding() <= i64::from(days),
            Self::MostPasses(passes) => protocol.chute_passes() <= passes as usize,
        }
    }

    /// As an option of the command line: `--class cow`.
    #[must_use]
    pub fn option(self) -> String {
        match self {
            Self::Class(class) => format!("--class {}", class.as_str()),
            Self::Kind(kind) => format!("--kind {}", kind.as_str()),
            Self::Cattle(cattle) => format!("--cattle {}", cattle.as_str()),
            Self::Semen(semen) => format!("--semen {}", semen.as_str()),
            Self::MostDays(days) => format!("--most-days {days}"),
            Self::MostPasses(passes) => format!("--most-passes {passes}"),
        }
    }
}

impl Serialize for Wish {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.option())
    }
}

/// How many would suit without a wish.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Without {
    /// The wish, as an option of the command.
    #[schemars(with = "String")]
    pub wish: Wish,
    /// Protocols that then suit.
    pub left: usize,
}

/// Protocols that suit what was wished.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "ProtocolList")]
pub struct Selection<'a> {
    /// `thawline.protocols/1`.
    pub format: &'static str,
    /// The wishes, as options of the command.
    #[schemars(with = "Vec<String>")]
    pub wishes: Vec<Wish>,
    /// Those that suit; all without a wish.
    pub protocols: Vec<&'a Protocol>,
    /// Where none suits: how many would without one wish.
    pub without: Vec<Without>,
}

impl Library {
    /// The protocols that suit every wish.
    #[must_use]
    pub fn select(&self, wishes: &[Wish]) -> Selection<'_> {
        let suits = |p: &Protocol, but: Option<usize>| {
            wishes
                .iter()
                .enumerate()
                .all(|(n, wish)| Some(n) == but || wish.suits(p))
        };
        let protocols: Vec<&Protocol> = self.iter().filter(|p| suits(p, None)).collect();
        let without = if protocols.is_empty() {
            let left = |n| self.iter().filter(|p| suits(p, Some(n))).count();
            let each = wishes.iter().enumerate();
            each.map(|(n, wish)| Without {
                wish: *wish,
                left: left(n),
            })
            .collect()
        } else {
            Vec::new()
        };
        Selection {
            format: "thawline.protocols/1",
            wishes: wishes.to_vec(),
            protocols,
            without,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OWN: &str = "\
id: own
name: Our own
class: both
cattle: [bos-indicus, dairy]
semen: [sexed]
kind: fixed-time
suits: Anyone.
sources: [{cite: us, supports: all}]
steps:
  - {id: pg, after: start, days: 0, do: [pg]}
  - {id: ai, after: pg, hours: {earliest: 60, aim: 72, latest: 72}, do: [inseminate]}
";

    fn own_is_left(wishes: &[Wish]) -> bool {
        let (library, _) = Library::with_files([("own.yaml", OWN.as_bytes())]).unwrap();
        let left = library.select(wishes).protocols;
        assert!(left.iter().all(|p| wishes.iter().all(|w| w.suits(p))));
        left.iter().any(|p| p.id.as_str() == "own")
    }

    #[test]
    fn each_wish_takes_what_suits_it_and_nothing_else() {
        use Wish::{MostDays, MostPasses};
        for (wish, left) in [
            (Wish::Class(Class::Cow), true),
            (Wish::Class(Class::Heifer), true),
            (Wish::Kind(Kind::FixedTime), true),
            (Wish::Kind(Kind::SplitTime), false),
            (Wish::Cattle(Cattle::Beef), false),
            (Wish::Cattle(Cattle::Dairy), true),
            (Wish::Cattle(Cattle::BosIndicus), true),
            (Wish::Semen(Semen::Conventional), false),
            (Wish::Semen(Semen::Sexed), true),
            (MostDays(2), false),
            (MostDays(3), true),
            (MostPasses(1), false),
            (MostPasses(2), true),
        ] {
            assert_eq!(own_is_left(&[wish]), left, "{}", wish.option());
        }
        assert!(own_is_left(&[MostDays(3), MostPasses(2)]));
        assert!(!own_is_left(&[MostDays(3), MostPasses(1)]));
        assert!(own_is_left(&[]));
    }

    #[test]
    fn where_nothing_is_left_each_wish_says_what_it_costs() {
        let library = Library::built_in();
        let short = library.select(&[Wish::MostDays(10)]).protocols.len();
        let wishes = [Wish::MostDays(10), Wish::MostPasses(0)];
        let none = library.select(&wishes);
        assert!(none.protocols.is_empty());
        assert_eq!(none.without[0].left, 0);
        assert_eq!(none.without[1].left, short);
        assert!(library.select(&[Wish::MostDays(10)]).without.is_empty());
    }
}
