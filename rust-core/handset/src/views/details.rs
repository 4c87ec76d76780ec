//! What is said of a plant beside its counts.

use crate::acts::the_check;
use crate::error::HandsetError;
use crate::object::Handset;
use serde::Serialize;
use std::collections::BTreeMap;
use survey::check::{Abundance, Bbch, Company, Condition, PhotoOf, Seen};
use survey::ids::{CheckId, PlantId};
use survey::protocol::{Host, Unit};
use survey::site::PlantFate;

/// A plant as it was described at its check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DetailsView {
    /// The check.
    pub check: CheckId,
    /// Number shown to people.
    pub number: u32,
    /// Host plant.
    pub host: Option<Host>,
    /// Unit of the check: a clump has a number of stems.
    pub unit: Unit,
    /// The tagged plant it is: such a one has a fate since the last visit.
    pub plant: Option<PlantId>,
    /// Stems of a clump.
    pub stems: Option<u32>,
    /// Height in centimetres.
    pub height_cm: Option<u16>,
    /// Growth stage.
    pub bbch: Option<Bbch>,
    /// Condition.
    pub condition: Option<Condition>,
    /// How a tagged plant was found.
    pub fate: Option<PlantFate>,
    /// Open flowers.
    pub open_flowers: Option<Seen>,
    /// Ants, aphids, predators, where they were looked for.
    pub company: BTreeMap<Company, Abundance>,
    /// Photos of the plant that are not lost.
    pub photos: u32,
}

impl Handset {
    /// What is said of a plant of the visit in hand: the open one, or the one named.
    ///
    /// # Errors
    /// `no-visit`, `no-plant-open`, `not-here`; storage.
    pub fn details(&self, check: Option<CheckId>) -> Result<DetailsView, HandsetError> {
        let hand = self.in_hand()?;
        let check = the_check(&hand, check)?;
        let photos = hand.group.state.iter().flat_map(|state| &state.photos);
        let own = photos.filter(|photo| photo.of == PhotoOf::Check(check.id) && photo.lost.is_none()).count();
        Ok(DetailsView {
            check: check.id,
            number: check.number,
            host: check.host.clone(),
            unit: check.unit,
            plant: check.plant,
            stems: check.stems,
            height_cm: check.height_cm,
            bbch: check.bbch,
            condition: check.condition,
            fate: check.fate,
            open_flowers: check.open_flowers,
            company: check.company.clone(),
            photos: u32::try_from(own).unwrap_or(u32::MAX),
        })
    }
}
