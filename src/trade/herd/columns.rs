//! The columns of a herd file, and the other words people have for them.

use crate::base::file_words;
use crate::base::sheet::column_name;

/// A column of a herd file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)]
#[derive(strum::IntoStaticStr, strum::VariantArray)]
#[strum(serialize_all = "snake_case")]
pub enum Column {
    Animal,
    Class,
    BirthDate,
    LastCalvingDate,
    Breed,
    BodyCondition,
    WeightLb,
    WeightKg,
    WeighedDate,
    MatureWeightLb,
    MatureWeightKg,
    FrameScore,
    TractScore,
    Sire,
    Dam,
    Mating,
    SecondMating,
    Sexed,
    Pen,
    ChuteOrder,
    Notes,
}

file_words!(Column);

impl Column {
    /// Every column.
    pub const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;

    /// The column of a header cell. Capitals, blanks and hyphens do not matter.
    #[must_use]
    pub fn named(cell: &str) -> Option<Self> {
        let plain = column_name(cell);
        Self::ALL.iter().copied().find(|c| c.as_str() == plain)
    }

    /// The column that somebody may mean by another word.
    pub(super) fn meant_by(cell: &str) -> Option<Self> {
        let plain = column_name(cell);
        let common = match plain.as_str() {
            "id" | "animal_id" | "tag" | "ear_tag" | "eid" | "electronic_id" | "visual_id"
            | "tag_number" | "number" | "cow" | "cow_id" | "heifer" | "heifer_id" | "name" => {
                Self::Animal
            }
            "type" | "kind" => Self::Class,
            "born" | "birth" | "dob" | "date_of_birth" | "birthdate" | "birthday" => {
                Self::BirthDate
            }
            "calved" | "calving" | "calving_date" | "date_calved" | "last_calved"
            | "last_calving" => Self::LastCalvingDate,
            "bcs" | "condition" | "condition_score" | "body_condition_score" => Self::BodyCondition,
            "weight" | "wt" | "lb" | "lbs" | "pounds" | "weight_lbs" | "wt_lb" => Self::WeightLb,
            "kg" | "kilos" | "wt_kg" => Self::WeightKg,
            "weighed" | "weigh_date" | "weight_date" | "date_weighed" => Self::WeighedDate,
            "mature_weight" | "mature" | "mature_lb" | "mature_weight_lbs" => Self::MatureWeightLb,
            "mature_kg" => Self::MatureWeightKg,
            "frame" => Self::FrameScore,
            "rts" | "tract" | "reproductive_tract_score" => Self::TractScore,
            "father" => Self::Sire,
            "mother" => Self::Dam,
            "bull" | "mate" | "mated_to" | "bred_to" | "service_sire" => Self::Mating,
            "second_bull" | "backup" | "backup_bull" | "second_choice" => Self::SecondMating,
            "sexed_semen" | "sexed_straws" => Self::Sexed,
            "order" | "chute" | "chute_number" | "place" | "sequence" => Self::ChuteOrder,
            "note" | "remark" | "remarks" | "comment" | "comments" => Self::Notes,
            _ => {
                let names = Self::ALL.iter().map(|c| c.as_str());
                return crate::base::error::nearest(&plain, names).and_then(Self::named);
            }
        };
        Some(common)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_by_name_and_by_other_words() {
        for &column in Column::ALL {
            assert_eq!(Column::named(column.as_str()), Some(column));
        }
        assert_eq!(Column::named(" Birth Date "), Some(Column::BirthDate));
        assert_eq!(Column::meant_by("BCS"), Some(Column::BodyCondition));
        assert_eq!(Column::meant_by("wieght_lb"), Some(Column::WeightLb));
        assert_eq!(Column::meant_by("pasture"), None);
    }
}
