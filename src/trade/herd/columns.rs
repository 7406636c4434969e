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
    ElectronicId,
    Tag,
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

    /// The column of a header cell. Capitals, blanks and marks do not matter.
    #[must_use]
    pub fn named(cell: &str) -> Option<Self> {
        let plain = column_name(cell);
        Self::ALL.iter().copied().find(|c| c.as_str() == plain)
    }

    /// The column of a header cell, by its name or another common word that leaves no doubt. A weight
    /// without a unit is in pounds, or in kilograms if so asked. Common practice, no source.
    pub(super) fn read_as(cell: &str, kilograms: bool) -> Option<Self> {
        if let Some(column) = Self::named(cell) {
            return Some(column);
        }
        Some(match column_name(cell).as_str() {
            "id" | "animal_id" | "animal_number" | "animal_no" | "number" | "no" | "cow"
            | "cow_id" | "cow_no" | "cow_number" | "heifer" | "heifer_id" | "heifer_no"
            | "heifer_number" | "name" => Self::Animal,
            "eid" | "eid_tag" | "eid_number" | "eid_no" | "e_id" | "electronic" | "rfid"
            | "rfid_tag" | "rfid_number" | "electronic_tag" | "840_tag" | "transponder" => {
                Self::ElectronicId
            }
            "vid" | "visual" | "visual_id" | "visual_tag" | "ear_tag" | "eartag" | "tag_number"
            | "tag_no" | "tag_id" | "tagnumber" | "ranch_tag" | "herd_id" | "dangle_tag" => {
                Self::Tag
            }
            "type" | "kind" | "cow_or_heifer" | "animal_class" => Self::Class,
            "born" | "birth" | "dob" | "date_of_birth" | "birthdate" | "birthday" | "bday"
            | "birth_dt" | "date_born" => Self::BirthDate,
            "calved" | "calved_on" | "calving_date" | "date_calved" | "calved_date"
            | "last_calved" | "last_calving" | "last_calf" | "last_calf_date"
            | "last_calve_date" | "last_calved_date" | "lastcalved" | "lastcalvingdate" => {
                Self::LastCalvingDate
            }
            "breed_code" => Self::Breed,
            "bcs"
            | "condition"
            | "condition_score"
            | "body_condition_score"
            | "body_cond"
            | "body_score"
            | "cond_score" => Self::BodyCondition,
            "weight" | "wt" | "body_weight" | "live_weight" if kilograms => Self::WeightKg,
            "weight" | "wt" | "body_weight" | "live_weight" | "lb" | "lbs" | "pounds"
            | "weight_lbs" | "wt_lb" | "wt_lbs" | "weight_pounds" => Self::WeightLb,
            "kg" | "kilos" | "wt_kg" | "weight_kgs" => Self::WeightKg,
            "weighed" | "weigh_date" | "weight_date" | "date_weighed" | "wt_date"
            | "weighed_on" | "weigh_day" => Self::WeighedDate,
            "mature_weight" | "mature_wt" if kilograms => Self::MatureWeightKg,
            "mature_weight" | "mature_wt" | "mature_lb" | "mature_weight_lbs" => {
                Self::MatureWeightLb
            }
            "mature_kg" | "mature_wt_kg" => Self::MatureWeightKg,
            "frame" | "frame_size" => Self::FrameScore,
            "rts" | "tract" | "repro_tract_score" | "reproductive_tract_score" => Self::TractScore,
            "father" | "sire_id" => Self::Sire,
            "mother" | "dam_id" => Self::Dam,
            "sexed_semen" | "sexed_straws" => Self::Sexed,
            "note" | "remark" | "remarks" | "comment" | "comments" => Self::Notes,
            _ => return None,
        })
    }

    /// The column that somebody may mean by a word that leaves doubt.
    pub(super) fn meant_by(cell: &str) -> Option<Self> {
        let plain = column_name(cell);
        let common = match plain.as_str() {
            "calving" | "calf_date" | "due_date" => Self::LastCalvingDate,
            "mature" => Self::MatureWeightLb,
            "bull" | "mate" | "mated_to" | "bred_to" | "service_sire" => Self::Mating,
            "second_bull" | "backup" | "backup_bull" | "second_choice" => Self::SecondMating,
            "order" | "chute" | "chute_number" | "place" | "sequence" => Self::ChuteOrder,
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
        for (cell, column) in [
            ("B.C.S.", Column::BodyCondition),
            ("Tag #", Column::Tag),
            ("Weight (kg)", Column::WeightKg),
            ("last_Calved", Column::LastCalvingDate),
            (" E-ID ", Column::ElectronicId),
        ] {
            assert_eq!(Column::read_as(cell, false), Some(column), "{cell}");
        }
        assert_eq!(Column::read_as("WT", true), Some(Column::WeightKg));
        assert_eq!(Column::read_as("bull", false), None);
        assert_eq!(Column::meant_by("bull"), Some(Column::Mating));
        assert_eq!(Column::meant_by("wieght_lb"), Some(Column::WeightLb));
        assert_eq!(Column::meant_by("pasture"), None);
    }
}
