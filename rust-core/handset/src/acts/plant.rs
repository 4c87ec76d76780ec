//! Acts on plants: the walk from one to the next.

use super::{InHand, Plan, input};
use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use crate::views::{PlantView, VisitView};
use serde::Serialize;
use survey::check::{CheckDescription, Extent, PlantClosed, PlantOpened, SeenEmpty};
use survey::entry::{Act, PlantDescribed};
use survey::fold::CheckState;
use survey::ids::{CheckId, PlantId};
use survey::protocol::{Host, Unit};
use survey::visit::Share;

/// How a plant is opened; what is left out is carried forward or follows from the protocol.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OpenPlant {
    /// Host plant; `None` takes that of the tagged plant, else that of the plant before.
    pub host: Option<Host>,
    /// Unit; `None` takes the protocol's for the host.
    pub unit: Option<Unit>,
    /// The tagged plant it is.
    pub plant: Option<PlantId>,
}

/// The screen that an act leads to, where it may be one of two.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Screen {
    /// A plant is open.
    Plant(PlantView),
    /// None is.
    Visit(VisitView),
}

impl Handset {
    /// Opens a plant of the visit in hand.
    ///
    /// # Errors
    /// `no-visit`, `visit-ended`, `plant-open`, `not-here` for a tag nobody described, `text-not-usable`; storage.
    pub fn open_plant(&mut self, open: OpenPlant) -> Result<PlantView, HandsetError> {
        let hand = self.in_hand()?.before_end()?;
        if let Some(check) = hand.group.open_check() {
            return Err(Error::refused(Why::PlantOpen, check.number).into());
        }
        let plan = self.opening(Plan::default(), open)?;
        self.on_plant(&plan)
    }

    /// Closes the open plant as wholly searched and opens the next: one act.
    ///
    /// # Errors
    /// `no-visit`, `visit-ended`, `no-plant-open`; storage.
    pub fn next_plant(&mut self, open: OpenPlant) -> Result<PlantView, HandsetError> {
        let hand = self.in_hand()?.before_end()?;
        let check = open_check(&hand)?.id;
        let closed = Act::PlantClosed(PlantClosed { check, extent: Extent::Whole, empty: None });
        let plan = Plan::one(hand.scope(), closed);
        let plan = self.opening(plan, open)?;
        self.on_plant(&plan)
    }

    /// The plant was looked at and is empty: closes it so and opens the next, one act, taken back as one. Where no
    /// plant is open one is opened first.
    ///
    /// # Errors
    /// `no-visit`, `visit-ended`, `something-counted` on the open plant; storage.
    pub fn empty_plant(&mut self) -> Result<PlantView, HandsetError> {
        let hand = self.in_hand()?.before_end()?;
        let scope = hand.scope();
        let (plan, check, ahead) = match hand.group.open_check() {
            Some(open) if !open.tally.is_empty() => {
                return Err(Error::refused(Why::SomethingCounted, open.number).into());
            }
            Some(open) => (Plan::default(), open.id, 1),
            None => {
                let opened = self.opening_of(OpenPlant::default(), 1)?;
                (Plan::one(scope, Act::PlantOpened(opened.clone())), opened.check, 2)
            }
        };
        let empty = Some(SeenEmpty::SeenEmpty);
        let plan = plan.and(scope, Act::PlantClosed(PlantClosed { check, extent: Extent::Whole, empty }));
        let next = self.opening_of(OpenPlant::default(), ahead)?;
        self.on_plant(&plan.and(scope, Act::PlantOpened(next)))
    }

    /// Closes the open plant.
    ///
    /// # Errors
    /// `no-visit`, `no-plant-open`, `something-counted` where it is said not to have been searched; storage.
    pub fn close_plant(&mut self, extent: Extent) -> Result<VisitView, HandsetError> {
        let hand = self.in_hand()?;
        let check = open_check(&hand)?;
        if matches!(extent, Extent::Refused(_)) && !check.tally.is_empty() {
            return Err(Error::refused(Why::SomethingCounted, check.number).into());
        }
        let closed = Act::PlantClosed(PlantClosed { check: check.id, extent, empty: None });
        let plan = Plan::one(hand.scope(), closed);
        self.on_visit(&plan)
    }

    /// Describes a plant of the visit in hand: the open one, or the one named.
    ///
    /// # Errors
    /// `no-visit`, `no-plant-open`, `not-here`, `says-nothing`, `number-out-of-range`, `text-not-usable`; storage.
    pub fn describe_plant(
        &mut self,
        check: Option<CheckId>,
        description: CheckDescription,
    ) -> Result<PlantView, HandsetError> {
        let description = input::check(description)?;
        let hand = self.in_hand()?;
        let state = the_check(&hand, check)?;
        let check = state.id;
        let replaces = state.described_by.clone();
        let act = Act::PlantDescribed(PlantDescribed { check, description });
        let plan = Plan::default().and_replacing(hand.scope(), act, replaces);
        self.commit(&plan)?;
        self.plant(check)
    }

    pub(crate) fn on_plant(&mut self, plan: &Plan) -> Result<PlantView, HandsetError> {
        self.commit(plan)?;
        let check = open_check(&self.in_hand()?)?.id;
        self.plant(check)
    }

    fn opening(&mut self, plan: Plan, open: OpenPlant) -> Result<Plan, Error> {
        let opened = self.opening_of(open, 1)?;
        Ok(plan.and(self.in_hand()?.scope(), Act::PlantOpened(opened)))
    }

    /// The opening of a plant so many ahead of the last.
    fn opening_of(&mut self, open: OpenPlant, ahead: u32) -> Result<PlantOpened, Error> {
        let check = self.draw(CheckId::timed);
        let hand = self.in_hand()?;
        let tagged = open.plant.map(|plant| self.tagged(&hand, plant)).transpose()?.flatten();
        let last = hand.group.own_checks().max_by_key(|check| (check.number, check.id));
        let carried = || last.and_then(|check| check.host.clone());
        let host = open.host.map(input::host).transpose()?.or(tagged).or_else(carried);
        let protocol = hand.group.state.as_ref().and_then(|state| state.protocol.as_ref());
        let by_protocol = || {
            let host = host.as_ref().unwrap_or(&Host::NotDetermined);
            protocol.map_or(Unit::Stem, |protocol| protocol.unit_of(host))
        };
        let unit = open.unit.unwrap_or_else(by_protocol);
        let number = number(share(&hand), last.map(|check| check.number), ahead);
        Ok(PlantOpened { check, number, unit, host, plant: open.plant })
    }

    fn tagged(&self, hand: &InHand<'_>, plant: PlantId) -> Result<Option<Host>, Error> {
        let plants = self.memory.sites.site(hand.site).map(|site| site.plants).unwrap_or_default();
        let tagged = plants.into_iter().find(|tagged| tagged.id == plant);
        Ok(tagged.ok_or_else(|| Error::refused(Why::NotHere, plant))?.description.host)
    }
}

/// The open plant.
pub(crate) fn open_check<'a>(hand: &InHand<'a>) -> Result<&'a CheckState, Error> {
    hand.group.open_check().ok_or_else(|| Error::refused(Why::NoPlantOpen, hand.visit))
}

/// The plant named, or the open one.
pub(crate) fn the_check<'a>(hand: &InHand<'a>, check: Option<CheckId>) -> Result<&'a CheckState, Error> {
    match check {
        None => open_check(hand),
        Some(id) => hand.group.check(id).ok_or_else(|| Error::refused(Why::NotHere, id)),
    }
}

fn share(hand: &InHand<'_>) -> Share {
    let parts = hand.group.state.iter().flat_map(|state| &state.parts);
    parts.into_iter().find(|part| part.visit == hand.visit).map_or(Share::All, |part| part.share)
}

/// The number of a plant so many behind the last one.
fn number(share: Share, last: Option<u32>, ahead: u32) -> u32 {
    let (first, step) = match share {
        Share::All => (1, 1),
        Share::Odd => (1, 2),
        Share::Even => (2, 2),
    };
    last.map_or(first + step * (ahead - 1), |last| last.saturating_add(step * ahead))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_phones_that_split_a_walk_never_use_one_number() {
        assert_eq!(number(Share::All, None, 1), 1);
        assert_eq!(number(Share::All, Some(4), 1), 5);
        assert_eq!((number(Share::Odd, None, 1), number(Share::Odd, Some(1), 1)), (1, 3));
        assert_eq!((number(Share::Even, None, 2), number(Share::Even, Some(2), 1)), (4, 4));
    }
}
