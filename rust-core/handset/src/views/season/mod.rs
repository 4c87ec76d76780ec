//! The season on the phone: this site's curve, what to expect, how many more, which plants, come again on, and the three
//! lines after a visit.

mod advice;
mod ahead;
mod samples;

pub use advice::{EffortRow, EffortView, HowManyView};
pub use ahead::{ChanceRow, ComeAgainView, ExpectRow};

use super::message::{Argument, Message};
use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use ::season::{Curve, Density, Group, Level, Shown, SiteSeason, composition, curve, density};
use figure::{Figure, Words, season_curve, stage_composition};
use serde::Serialize;
use survey::fold::{SiteState, VisitState};
use survey::ids::{SiteId, VisitId};
use survey::protocol::Unit;

/// A site's season.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonView {
    /// The site.
    pub site: SiteId,
    /// Its name.
    pub name: Option<String>,
    /// Seasons, the latest first.
    pub seasons: Vec<OneSeason>,
    /// Stages to expect of eggs laid on the day of the latest visit.
    pub expect: Vec<ExpectRow>,
    /// The same in words, a line each.
    pub expect_lines: Vec<Message>,
    /// When to come again; `None` where nobody was there yet.
    pub come_again: Option<ComeAgainView>,
}

/// A season in one unit of check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OneSeason {
    /// The year.
    pub year: i32,
    /// The unit.
    pub unit: Unit,
    /// The curve; its drawing is [`Handset::season_drawing`].
    pub curve: Curve,
    /// A line for each visit: date, plants, eggs and larvae together.
    pub lines: Vec<Message>,
}

/// A drawing of a season.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeasonChart {
    /// Each stage over the season.
    Curve,
    /// What each visit's animals were.
    Composition,
}

/// The three lines after a visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClosingView {
    /// The visit.
    pub visit: VisitId,
    /// What was found against what the visit before led to expect.
    pub found: Message,
    /// What the visit did to the interval.
    pub interval: Message,
    /// What to expect, and when to come again.
    pub next: Message,
}

impl Handset {
    /// A site's season, from the visits that are on this phone.
    ///
    /// # Errors
    /// `not-here`; storage.
    pub fn season(&mut self, site: SiteId) -> Result<SeasonView, HandsetError> {
        let (state, visits) = self.site_and_visits(site)?;
        let latest = visits.iter().filter_map(VisitState::date).max();
        let expect = latest.map(ahead::expect).unwrap_or_default();
        let seasons = samples::seasons(&state, &visits);
        let one = |((year, unit), season): (&(i32, Unit), &SiteSeason)| {
            let curve = curve(season, Level::P95).ok()?;
            Some(OneSeason { year: *year, unit: *unit, curve, lines: visit_lines(season) })
        };
        Ok(SeasonView {
            site,
            name: state.name,
            seasons: seasons.iter().rev().filter_map(one).collect(),
            expect_lines: expect.iter().filter_map(expected).collect(),
            expect,
            come_again: latest.and_then(ahead::come_again),
        })
    }

    /// A drawing of a season, as wide as given.
    ///
    /// # Errors
    /// `not-here` where there is no such season or nothing to draw; storage.
    pub fn season_drawing(
        &mut self,
        site: SiteId,
        (year, unit): (i32, Unit),
        chart: SeasonChart,
        (width, words): (u32, &Words),
    ) -> Result<Figure, HandsetError> {
        let (state, visits) = self.site_and_visits(site)?;
        let seasons = samples::seasons(&state, &visits);
        let none = || HandsetError::from(Error::refused(Why::NotHere, year));
        let season = seasons.get(&(year, unit)).ok_or_else(none)?;
        let place = format!("{} {year}", state.name.unwrap_or_default());
        let drawn = match chart {
            SeasonChart::Curve => {
                let curve = curve(season, Level::P95).map_err(|_| none())?;
                season_curve(&curve, place.trim(), width, words)
            }
            SeasonChart::Composition => {
                let shares = composition(season).map_err(|_| none())?;
                stage_composition(&shares, place.trim(), width, words)
            }
        };
        drawn.map_err(|_| none())
    }

    /// How many plants more in the visit in hand, by its protocol's rule.
    ///
    /// # Errors
    /// `no-visit`, `no-protocol`; storage.
    pub fn how_many(&self) -> Result<HowManyView, HandsetError> {
        let now = self.around.clock.now().wall.0;
        let hand = self.in_hand()?;
        let state = hand.group.state.as_ref().ok_or_else(|| Error::refused(Why::NoVisit, hand.visit))?;
        let rule = state.protocol.as_ref().ok_or_else(|| Error::refused(Why::NoProtocol, hand.visit))?.stop;
        let begun = state.started.map_or(now, |at| at.0);
        let until = state.ended.map_or(now, |at| at.0);
        let minutes = (until.saturating_sub(begun).max(0) as f64 / 60_000.0).min(MOST_MINUTES);
        let units_at_site = self.memory.sites.site(hand.site).and_then(|site| site.stems_expected);
        Ok(advice::how_many(state.entering(), rule, minutes, units_at_site))
    }

    /// Which plants to take in the visit in hand, a line each.
    ///
    /// # Errors
    /// `no-visit`, `no-protocol`.
    pub fn which_plants(&self) -> Result<Vec<Message>, HandsetError> {
        let hand = self.in_hand()?;
        let state = hand.group.state.as_ref().ok_or_else(|| Error::refused(Why::NoVisit, hand.visit))?;
        let protocol = state.protocol.as_ref().ok_or_else(|| Error::refused(Why::NoProtocol, hand.visit))?;
        let own = state.parts.iter().find(|part| part.visit == hand.visit);
        Ok(advice::which_plants(protocol, own.map(|part| part.share).unwrap_or_default()))
    }

    /// What efforts can tell of the next visit to a site.
    ///
    /// # Errors
    /// `not-here`; storage.
    pub fn effort(&mut self, site: SiteId) -> Result<EffortView, HandsetError> {
        let (state, visits) = self.site_and_visits(site)?;
        let goal = visits.iter().rev().find_map(|visit| visit.protocol.as_ref()).map(|protocol| protocol.stop.goal);
        let group = goal.map_or(Group::Immatures, advice::group);
        let latest = samples::seasons(&state, &visits).into_iter().next_back().map(|(_, season)| season);
        let last = latest.and_then(|season| mean(season.visits().last()?, group));
        Ok(advice::effort(last))
    }

    /// The three lines after a visit: the one in hand.
    ///
    /// # Errors
    /// `no-visit`; storage.
    pub fn closing(&mut self) -> Result<ClosingView, HandsetError> {
        let hand = self.in_hand()?;
        let (visit, site) = (hand.visit, hand.site);
        let id = hand.group.state.as_ref().map(|state| state.id);
        let (state, visits) = self.site_and_visits(site)?;
        let own = visits.iter().find(|visit| Some(visit.id) == id);
        let date = own.and_then(VisitState::date);
        let seasons = samples::seasons(&state, &visits);
        let season = seasons.into_iter().next_back().map(|(_, season)| season);
        let samples = season.as_ref().map_or(&[][..], SiteSeason::visits);
        let at = samples.iter().rposition(|sample| Some(sample.date) == date);
        let before = at.and_then(|at| at.checked_sub(1)).map(|at| &samples[at]);
        let here = at.and_then(|at| density(&samples[at], Group::Immatures, Level::P95).ok());
        let earlier = before.and_then(|sample| density(sample, Group::Immatures, Level::P95).ok());
        let again = date.and_then(ahead::come_again);
        Ok(ClosingView {
            visit,
            found: found(here.as_ref(), earlier.as_ref()),
            interval: interval(here.as_ref()),
            next: match again.and_then(|again| again.on) {
                Some(on) => Message::new("phone.season.next").with("date", Argument::Date(on)),
                None => Message::new("phone.season.next-unknown"),
            },
        })
    }

    fn site_and_visits(&mut self, site: SiteId) -> Result<(SiteState, Vec<VisitState>), Error> {
        let state = self.memory.sites.site(site).ok_or_else(|| Error::refused(Why::NotHere, site))?;
        let mut ids: Vec<VisitId> = Vec::new();
        for member in &state.members {
            let mut statement = self.db.prepare_cached("SELECT visit FROM visit WHERE site = ?1")?;
            let rows = statement.query_map([member.octets()], |row| Ok(VisitId::from_octets(row.get(0)?)))?;
            ids.extend(rows.collect::<Result<Vec<_>, _>>()?);
        }
        let mut visits: Vec<VisitState> = Vec::new();
        for id in ids {
            let group = self.memory.group(&self.db, id)?;
            visits.extend(group.state.clone().filter(|state| visits.iter().all(|own| own.id != state.id)));
        }
        visits.sort_by_key(|visit| (visit.started, visit.id));
        Ok((state, visits))
    }
}

/// A visit that is left open overnight took no longer than a day.
const MOST_MINUTES: f64 = 24.0 * 60.0;

/// The mean of a group per plant, where the sample carries one.
fn mean(sample: &::season::VisitSample, group: Group) -> Option<f64> {
    match density(sample, group, Level::P95).ok()?.shown {
        Shown::Mean(mean) => Some(mean.value),
        Shown::Occupancy(_) => None,
    }
}

fn visit_lines(season: &SiteSeason) -> Vec<Message> {
    let line = |sample: &::season::VisitSample| {
        let message = Message::new(match density(sample, Group::Immatures, Level::P95).map(|density| density.shown) {
            Ok(Shown::Mean(_)) => "phone.season.visit-mean",
            Ok(Shown::Occupancy(_)) => "phone.season.visit-share",
            Err(_) => "phone.season.visit-plain",
        });
        let message = message
            .with("date", Argument::Date(sample.date))
            .with("plants", Argument::Number(sample.checked().unwrap_or(0)));
        match density(sample, Group::Immatures, Level::P95) {
            Ok(density) => with_estimate(message, &density),
            Err(_) => message,
        }
    };
    season.visits().iter().map(line).collect()
}

/// A figure with its interval, as `value`, `low` and `high`.
fn with_estimate(message: Message, density: &Density) -> Message {
    let (estimate, shown): (_, fn(f64) -> Argument) = match &density.shown {
        Shown::Mean(estimate) => (estimate, |value| Argument::Decimal(value, 2)),
        Shown::Occupancy(estimate) => (estimate, Argument::Percent),
    };
    let ends = estimate.interval.as_ref().map_or((estimate.value, estimate.value), |own| (own.low, own.high));
    message.with("value", shown(estimate.value)).with("low", shown(ends.0)).with("high", shown(ends.1))
}

fn expected(row: &ExpectRow) -> Option<Message> {
    let [Some(hot), Some(cool)] = row.ends else { return None };
    let stage = Argument::What(row.stage.into());
    Some(
        Message::new("phone.season.expect")
            .with("what", stage)
            .with("from", Argument::Date(hot))
            .with("until", Argument::Date(cool)),
    )
}

fn found(here: Option<&Density>, before: Option<&Density>) -> Message {
    let Some(here) = here else { return Message::new("phone.season.closing-nothing") };
    let value = |density: &Density| match &density.shown {
        Shown::Mean(estimate) => (Argument::Decimal(estimate.value, 2), true),
        Shown::Occupancy(estimate) => (Argument::Percent(estimate.value), false),
    };
    let (now, is_mean) = value(here);
    let before = before.map(value).filter(|(_, was_mean)| *was_mean == is_mean);
    match (is_mean, before) {
        (true, Some((before, _))) => {
            Message::new("phone.season.closing-mean-before").with("value", now).with("before", before)
        }
        (true, None) => Message::new("phone.season.closing-mean").with("value", now),
        (false, Some((before, _))) => {
            Message::new("phone.season.closing-share-before").with("value", now).with("before", before)
        }
        (false, None) => Message::new("phone.season.closing-share").with("value", now),
    }
}

fn interval(here: Option<&Density>) -> Message {
    let Some(here) = here else { return Message::new("phone.season.closing-no-interval") };
    let id = match &here.shown {
        Shown::Mean(_) => "phone.season.closing-interval-mean",
        Shown::Occupancy(_) => "phone.season.closing-interval-share",
    };
    with_estimate(Message::new(id), here)
}
