//! Acts on a visit as a whole.

use super::{Beside, Plan, input};
use crate::error::{Error, HandsetError, Why};
use crate::journal::rows;
use crate::object::Handset;
use crate::views::VisitView;
use std::collections::BTreeSet;
use survey::entry::{Act, Scope, TakenBack, VisitEnded, VisitsJoined};
use survey::ids::{ObserverId, SiteId, VisitId};
use survey::protocol::Protocol;
use survey::visit::{
    AdultsCounted, ChecksCompared, Matched, PooledCheck, Share, VisitBegun, VisitDescription, Weather,
};

/// How a visit begins.
#[derive(Debug, Clone, Default)]
pub struct BeginVisit {
    /// The protocol; `None` carries that of the latest visit to the site forward.
    pub protocol: Option<Protocol>,
    /// Who searches; empty carries the observers of the latest visit to the site forward.
    pub observers: BTreeSet<ObserverId>,
    /// Which of the chosen plants this device takes. Plants of the odd share are numbered 1, 3, 5, those of the even
    /// one 2, 4, 6, so that two phones that split a walk never use one number.
    pub share: Share,
    /// The visit code that another phone shows: both visits are linked at once.
    pub beside: Option<VisitId>,
}

impl Handset {
    /// Begins this device's part of a visit and takes it in hand. The protocol is copied into it.
    ///
    /// # Errors
    /// `not-here`, `no-protocol` where there is none to carry forward, `plant-open` in the visit in hand; storage.
    pub fn begin_visit(&mut self, site: SiteId, begin: BeginVisit) -> Result<VisitView, HandsetError> {
        self.known_site(site)?;
        let before = self.latest_visit(site)?;
        let carried = before.as_ref().and_then(|state| state.protocol.clone());
        let protocol = begin.protocol.map(input::protocol).transpose()?.or(carried);
        let protocol = protocol.ok_or_else(|| Error::refused(Why::NoProtocol, site))?;
        let observers = if begin.observers.is_empty() {
            before.map(|state| state.observers).unwrap_or_default()
        } else {
            begin.observers
        };
        let visit = self.draw(VisitId::timed);
        let opening = Act::VisitBegun(VisitBegun { protocol, observers, share: begin.share });
        let mut plan = Plan::one(Scope::Visit(site, visit), opening).beside(Beside::InHand(visit));
        if let Some(other) = begin.beside {
            plan = plan.and(Scope::Site(site), join(visit, other));
        }
        self.commit(&plan)?;
        self.visit()
    }

    /// Takes another visit in hand: to go on with it, or to look at it or correct it.
    ///
    /// # Errors
    /// `not-here`; storage.
    pub fn take_in_hand(&mut self, visit: VisitId) -> Result<VisitView, HandsetError> {
        if self.memory.group(&self.db, visit).map(|group| group.state.is_none())? {
            return Err(Error::refused(Why::NotHere, visit).into());
        }
        self.commit(&Plan::default().beside(Beside::InHand(visit)))?;
        self.visit()
    }

    /// Says that two visits to one site are one.
    ///
    /// # Errors
    /// `not-here`, `says-nothing` where they are one already; storage.
    pub fn join_visits(&mut self, one: VisitId, other: VisitId) -> Result<VisitView, HandsetError> {
        let state = self.memory.group(&self.db, one)?.state.as_ref();
        let (site, members) =
            state.map(|state| (state.site, state.members.clone())).ok_or_else(|| Error::refused(Why::NotHere, one))?;
        if members.contains(&other) {
            return Err(Error::refused(Why::SaysNothing, "the two are one visit already").into());
        }
        self.commit(&Plan::one(Scope::Site(site), join(one, other)))?;
        self.visit_of(one)
    }

    /// Says who searched, how long, and whether host plants were up, of the visit in hand.
    ///
    /// # Errors
    /// `no-visit`, `says-nothing`, `number-out-of-range`; storage.
    pub fn describe_visit(&mut self, description: VisitDescription) -> Result<VisitView, HandsetError> {
        if description == VisitDescription::default() {
            return Err(Error::refused(Why::SaysNothing, "visit").into());
        }
        if let Some(minutes) = description.person_minutes {
            input::within("minutes", minutes, 1, 60_000)?;
        }
        let hand = self.in_hand()?;
        let replaces = hand.group.state.as_ref().map(|state| state.described_by.clone()).unwrap_or_default();
        let plan = Plan::default().and_replacing(hand.scope(), Act::VisitDescribed(description), replaces);
        self.on_visit(&plan)
    }

    /// Notes the weather of the visit in hand.
    ///
    /// # Errors
    /// `no-visit`, `says-nothing`, `number-out-of-range`; storage.
    pub fn note_weather(&mut self, weather: Weather) -> Result<VisitView, HandsetError> {
        let weather = input::weather(weather)?;
        let hand = self.in_hand()?;
        let replaces = hand.group.state.as_ref().map(|state| state.weather_by.clone()).unwrap_or_default();
        let plan = Plan::default().and_replacing(hand.scope(), Act::WeatherNoted(weather), replaces);
        self.on_visit(&plan)
    }

    /// Ends this device's part of the visit in hand. A plant that was opened and never touched is taken back with it.
    ///
    /// # Errors
    /// `no-visit`, `visit-ended`, `plant-open` where something was done on the open plant; storage.
    pub fn end_visit(&mut self) -> Result<VisitView, HandsetError> {
        let hand = self.in_hand()?.before_end()?;
        let mut plan = Plan::default();
        if let Some(check) = hand.group.open_check() {
            let opening = hand.group.last_act().filter(|kept| match &kept.entry.act {
                Act::PlantOpened(opened) => opened.check == check.id,
                _ => false,
            });
            let opening = opening.ok_or_else(|| Error::refused(Why::PlantOpen, check.number))?;
            plan = plan.and(opening.entry.scope, Act::TakenBack(TakenBack { target: opening.entry.id }));
        }
        let plan = plan.and(hand.scope(), Act::VisitEnded(VisitEnded {}));
        self.on_visit(&plan)
    }

    /// Totals over plants that were not kept apart, of an older record.
    ///
    /// # Errors
    /// `no-visit`, `number-out-of-range`; storage.
    pub fn pooled_check(&mut self, check: PooledCheck) -> Result<VisitView, HandsetError> {
        let act = Act::PooledCheck(input::pooled(check)?);
        let plan = Plan::one(self.in_hand()?.scope(), act);
        self.on_visit(&plan)
    }

    /// Adults seen during the visit in hand.
    ///
    /// # Errors
    /// `no-visit`, `number-out-of-range`; storage.
    pub fn count_adults(&mut self, counted: AdultsCounted) -> Result<VisitView, HandsetError> {
        let act = Act::AdultsCounted(input::adults(counted)?);
        let plan = Plan::one(self.in_hand()?.scope(), act);
        self.on_visit(&plan)
    }

    /// How many animals of each stage both of two independent checks saw.
    ///
    /// # Errors
    /// `no-visit`, `not-here`, `plant-open` while one of them is open, `number-out-of-range` above the smaller count;
    /// storage.
    pub fn match_checks(&mut self, matched: Matched) -> Result<VisitView, HandsetError> {
        let hand = self.in_hand()?;
        for id in matched.checks {
            let check = hand.group.check(id).ok_or_else(|| Error::refused(Why::NotHere, id))?;
            if check.extent.is_none() {
                return Err(Error::refused(Why::PlantOpen, check.number).into());
            }
            for (what, &both) in &matched.both {
                input::within("seen by both", u64::from(both), 0, check.tally.living(what))?;
            }
        }
        let plan = Plan::one(hand.scope(), Act::Matched(matched));
        self.on_visit(&plan)
    }

    /// Says what equal plant numbers of two devices turned out to be.
    ///
    /// # Errors
    /// `no-visit`, `not-here`, `says-nothing` for fewer than two checks; storage.
    pub fn compare_checks(&mut self, compared: ChecksCompared) -> Result<VisitView, HandsetError> {
        let hand = self.in_hand()?;
        if compared.checks.len() < 2 {
            return Err(Error::refused(Why::SaysNothing, "two checks or more are compared").into());
        }
        if let Some(unknown) = compared.checks.iter().find(|id| hand.group.check(**id).is_none()) {
            return Err(Error::refused(Why::NotHere, unknown).into());
        }
        let plan = Plan::one(hand.scope(), Act::ChecksCompared(compared));
        self.on_visit(&plan)
    }

    pub(crate) fn on_visit(&mut self, plan: &Plan) -> Result<VisitView, HandsetError> {
        self.commit(plan)?;
        self.visit()
    }

    pub(crate) fn latest_visit(&mut self, site: SiteId) -> Result<Option<survey::fold::VisitState>, Error> {
        let sites = self.memory.sites.site_group(site);
        let mut latest: Option<(i64, VisitId)> = None;
        for site in sites {
            latest = latest.max(rows::latest_visit(&self.db, site)?);
        }
        let Some((_, visit)) = latest else { return Ok(None) };
        Ok(self.memory.group(&self.db, visit)?.state.clone())
    }
}

fn join(one: VisitId, other: VisitId) -> Act {
    Act::VisitsJoined(VisitsJoined { visits: BTreeSet::from([one, other]) })
}
