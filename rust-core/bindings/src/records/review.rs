//! Looking a visit over before and after its end.

use super::Label;
use super::counting::acted;
use crate::voice::Voice;
use handset::views::{PlantRow, ReviewTotal, ReviewView, VisitView};
use messages::words;
use std::collections::BTreeMap;
use survey::stage::What;

/// The review of a visit.
#[derive(Debug, Clone, uniffi::Record)]
pub struct ReviewScreen {
    /// Title.
    pub title: String,
    /// The visit.
    pub visit: String,
    /// The name of the site.
    pub site: String,
    /// Totals, a line each.
    pub totals: Vec<String>,
    /// What looks odd, a line each.
    pub findings: Vec<String>,
    /// Where each finding can be looked into, in their order.
    pub leads: Vec<FindingLead>,
    /// Said where nothing looks odd.
    pub nothing_odd: Option<String>,
    /// The plants, a row each.
    pub rows: Vec<ReviewRow>,
    /// Whether this phone's part has ended.
    pub ended: bool,
    /// Undo: after the end it takes the end back.
    pub take_back: Option<Label>,
    /// Weather in one line.
    pub weather: String,
}

/// Where a finding can be looked into.
#[derive(Debug, Clone, PartialEq, Eq, uniffi::Enum)]
pub enum FindingLead {
    /// With the details of one plant.
    Plant {
        /// Its check, for `details`.
        check: String,
    },
    /// Where two looks at one plant are matched.
    TwoLooks,
    /// With what is said of the visit as a whole.
    Visit,
    /// Nowhere on a phone.
    Nowhere,
}

/// A plant in the table.
#[derive(Debug, Clone, uniffi::Record)]
pub struct ReviewRow {
    /// The check.
    pub check: String,
    /// Number and host.
    pub plant: String,
    /// What was found.
    pub found: String,
    /// Findings about it, by their place in the list.
    pub findings: Vec<u32>,
}

impl ReviewScreen {
    pub(crate) fn of(visit: &VisitView, review: &ReviewView, voice: Voice) -> Self {
        let nothing_odd = review.findings.is_empty().then(|| voice.plain("phone.nothing-odd"));
        Self {
            title: voice.plain("phone.review"),
            visit: visit.visit.to_string(),
            site: visit.site_name.clone().unwrap_or_else(|| voice.plain("sites.unnamed")),
            totals: review.totals.iter().flat_map(|total| totals(total, voice)).collect(),
            findings: review.findings.iter().map(|finding| voice.message(finding)).collect(),
            leads: review.leads.iter().copied().map(FindingLead::of).collect(),
            nothing_odd,
            rows: review
                .plants
                .iter()
                .map(|row| ReviewRow {
                    check: row.plant.check.to_string(),
                    plant: plant(&row.plant, voice),
                    found: found(&row.plant, voice),
                    findings: row.findings.iter().filter_map(|&at| u32::try_from(at).ok()).collect(),
                })
                .collect(),
            ended: visit.own_part_ended.is_some(),
            take_back: visit.take_back.as_ref().map(|act| acted("act.take-back", act, voice)),
            weather: words::weather(voice.language, &visit.weather),
        }
    }
}

impl FindingLead {
    fn of(lead: handset::views::FindingLead) -> Self {
        match lead {
            handset::views::FindingLead::Plant(check) => Self::Plant { check: check.to_string() },
            handset::views::FindingLead::TwoLooks => Self::TwoLooks,
            handset::views::FindingLead::Visit => Self::Visit,
            handset::views::FindingLead::Nowhere => Self::Nowhere,
        }
    }
}

fn totals(total: &ReviewTotal, voice: Voice) -> Vec<String> {
    let plants = words::units(voice.language, total.checked, total.unit);
    let living: Vec<String> = total.living.iter().map(|(what, number)| counted(what, *number, voice)).collect();
    vec![
        voice.say("phone.totals", &[("plants", plants.into()), ("what", living.join(", ").into())]),
        voice.counted("phone.occupied", total.occupied),
        voice.plain("phone.counted-only"),
    ]
}

fn plant(row: &PlantRow, voice: Voice) -> String {
    let host = words::host(voice.language, row.host.as_ref());
    voice.say("phone.row", &[("number", row.number.into()), ("host", host.into())])
}

fn found(row: &PlantRow, voice: Voice) -> String {
    let living = nonzero(&row.living, voice);
    let others = (row.not_living > 0).then(|| voice.counted("phone.not-living", row.not_living));
    let parts: Vec<String> = living.into_iter().chain(others).collect();
    match (parts.is_empty(), row.extent) {
        (_, None) => parts.into_iter().chain([voice.plain("phone.row-open")]).collect::<Vec<_>>().join(", "),
        (true, Some(_)) => voice.plain("phone.row-empty"),
        (false, Some(_)) => parts.join(", "),
    }
}

fn nonzero(living: &BTreeMap<What, u64>, voice: Voice) -> Vec<String> {
    living.iter().filter(|(_, number)| **number > 0).map(|(what, number)| counted(what, *number, voice)).collect()
}

fn counted(what: &What, number: u64, voice: Voice) -> String {
    voice.say("phone.counted-spoken", &[("what", voice.what(what).into()), ("number", number.into())])
}
