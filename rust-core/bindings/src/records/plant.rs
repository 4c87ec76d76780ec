//! What is said of a plant beside its counts.

use super::{Choice, Label};
use crate::voice::Voice;
use handset::HandsetError;
use handset::acts::{Settings, Switch, Units, typed_count};
use handset::views::DetailsView;
use messages::{decimal, words};
use survey::check::{Abundance, Bbch, CheckDescription, Company, Condition, Seen};
use survey::protocol::Unit;
use survey::site::PlantFate;

/// The details of a plant: everything may be left out.
#[derive(Debug, Clone, uniffi::Record)]
pub struct DetailsScreen {
    /// "Plant 3".
    pub title: String,
    /// The check, for `describe_plant`.
    pub check: String,
    /// Height as it is shown and typed.
    pub height: TypedField,
    /// Stems of a clump; `None` where the unit is the stem.
    pub stems: Option<TypedField>,
    /// Growth stages of the plant, one or two may be chosen.
    pub growth: Vec<Choice>,
    /// Condition.
    pub condition: Vec<Choice>,
    /// How a tagged plant was found; empty for others.
    pub fate: Vec<Choice>,
    /// Open flowers, yes or no; empty where the setting does not ask for it.
    pub flowers: Vec<Choice>,
    /// Ants, aphids, predators; empty where the setting does not ask for it.
    pub company: Vec<CompanyField>,
    /// Photos of this plant.
    pub photos: u32,
    /// "Photo of this plant", for `take_photo_of`.
    pub photo: Label,
}

/// Something that is typed.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Record)]
pub struct TypedField {
    /// Its label, with the unit.
    pub label: String,
    /// What stands in it.
    pub value: String,
}

/// Who else sits on the plant.
#[derive(Debug, Clone, uniffi::Record)]
pub struct CompanyField {
    /// Its name, for `CompanySeen`.
    pub who: String,
    /// Its words.
    pub label: String,
    /// How many; none chosen is "not looked at".
    pub classes: Vec<Choice>,
}

/// What was typed and chosen; what is left out says nothing.
#[derive(Debug, Clone, uniffi::Record)]
pub struct PlantTyped {
    /// As typed, in the unit of the settings.
    pub height: String,
    /// As typed.
    pub stems: String,
    /// Names of one or two growth stages.
    pub growth: Vec<String>,
    /// Name of the condition.
    pub condition: Option<String>,
    /// Name of the fate.
    pub fate: Option<String>,
    /// `yes` or `no`.
    pub flowers: Option<String>,
    /// Who else sits on it.
    pub company: Vec<CompanySeen>,
}

/// Who else sits on the plant, and how many.
#[derive(Debug, Clone, uniffi::Record)]
pub struct CompanySeen {
    /// Who.
    pub who: String,
    /// The class.
    pub class: String,
}

/// Growth stages that a host plant goes through above ground, of the general BBCH scale's ten.
const GROWTH: [u8; 8] = [0, 1, 3, 5, 6, 7, 8, 9];
const CONDITIONS: [(&str, Condition); 5] = [
    ("sound", Condition::Sound),
    ("cut", Condition::Cut),
    ("eaten-back", Condition::EatenBack),
    ("dried-up", Condition::DriedUp),
    ("diseased", Condition::Diseased),
];
const FATES: [(&str, PlantFate); 5] = [
    ("as-before", PlantFate::AsBefore),
    ("cut", PlantFate::Cut),
    ("browsed", PlantFate::Browsed),
    ("dried-up", PlantFate::DriedUp),
    ("not-found", PlantFate::NotFound),
];
const SEEN: [(&str, Seen); 2] = [("yes", Seen::Yes), ("no", Seen::No)];
const COMPANY: [(&str, Company); 3] =
    [("ants", Company::Ants), ("aphids", Company::Aphids), ("predators", Company::Predators)];
const CLASSES: [(&str, Abundance); 4] =
    [("0", Abundance::None), ("1-10", Abundance::Few), ("11-100", Abundance::Many), (">100", Abundance::Hosts)];

impl DetailsScreen {
    pub(crate) fn of(view: &DetailsView, settings: &Settings, voice: Voice) -> Self {
        let asks = settings.on.contains(&Switch::Company);
        let growth: Vec<String> =
            view.bbch.map(|bbch| bbch.to_string().split('/').map(str::to_owned).collect()).unwrap_or_default();
        let flowers = choices(&SEEN, view.open_flowers, |name, _| voice.plain(&format!("phone.{name}")));
        let company = COMPANY.map(|(who, own)| CompanyField {
            who: who.into(),
            label: voice.plain(&format!("phone.company.{who}")),
            classes: choices(&CLASSES, view.company.get(&own).copied(), |name, _| name.to_owned()),
        });
        let height = view.height_cm.map(|cm| decimal(voice.language, settings.units.of_height(cm), 0));
        let height_label = match settings.units {
            Units::Metric => "phone.height-cm",
            Units::Imperial => "phone.height-inches",
        };
        Self {
            title: voice.counted("phone.plant", view.number.into()),
            check: view.check.to_string(),
            height: TypedField { label: voice.plain(height_label), value: height.unwrap_or_default() },
            stems: (view.unit == Unit::Clump).then(|| TypedField {
                label: voice.plain("phone.stems"),
                value: view.stems.map_or_else(String::new, |stems| stems.to_string()),
            }),
            growth: GROWTH
                .map(|stage| Choice {
                    name: stage.to_string(),
                    label: voice.plain(&format!("phone.growth.{stage}")),
                    chosen: growth.contains(&stage.to_string()),
                })
                .into(),
            condition: choices(&CONDITIONS, view.condition, |_, own| words::condition(voice.language, own)),
            fate: match view.plant {
                Some(_) => choices(&FATES, view.fate, |name, _| voice.plain(&format!("phone.fate.{name}"))),
                None => Vec::new(),
            },
            flowers: if asks { flowers } else { Vec::new() },
            company: if asks { company.into() } else { Vec::new() },
            photos: view.photos,
            photo: Label::plain(voice.plain("phone.photo-of-plant")),
        }
    }
}

impl PlantTyped {
    pub(crate) fn read(&self, units: Units) -> Result<CheckDescription, HandsetError> {
        let growth = (!self.growth.is_empty()).then(|| self.growth.join("/"));
        let company = self.company.iter().map(|seen| Ok((named(&COMPANY, &seen.who)?, named(&CLASSES, &seen.class)?)));
        let company = company.collect::<Result<std::collections::BTreeMap<_, _>, HandsetError>>()?;
        Ok(CheckDescription {
            host: None,
            stems: typed_count(&self.stems)?,
            height_cm: units.height(&self.height)?,
            bbch: growth
                .map(|text| Bbch::try_from(text.clone()).map_err(|_| HandsetError::not_here(&text)))
                .transpose()?,
            condition: self.condition.as_deref().map(|name| named(&CONDITIONS, name)).transpose()?,
            fate: self.fate.as_deref().map(|name| named(&FATES, name)).transpose()?,
            open_flowers: self.flowers.as_deref().map(|name| named(&SEEN, name)).transpose()?,
            company: (!company.is_empty()).then_some(company),
        })
    }
}

/// The one of a list that has this name.
pub(crate) fn named<T: Copy>(all: &[(&str, T)], name: &str) -> Result<T, HandsetError> {
    let found = all.iter().find(|(own, _)| *own == name).map(|(_, one)| *one);
    found.ok_or_else(|| HandsetError::not_here(name))
}

/// A list to choose from.
pub(crate) fn choices<T: Copy + PartialEq>(
    all: &[(&str, T)],
    chosen: Option<T>,
    label: impl Fn(&str, T) -> String,
) -> Vec<Choice> {
    all.iter()
        .map(|(name, one)| Choice { name: (*name).to_owned(), label: label(name, *one), chosen: chosen == Some(*one) })
        .collect()
}
