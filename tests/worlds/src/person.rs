//! What people do with a phone, each act held against what the screen showed before.

use crate::phone::Phone;
use crate::step::{Deed, below};
use crate::trouble::{Trouble, hold};
use crate::world::World;
use handset::acts::{BeginVisit, Count, OpenPlant};
use handset::views::PlantView;
use handset::{Handset, HandsetError, Kind};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::Link;
use survey::check::{CheckDescription, Condition, Extent, PhotoOf, RefusedFor};
use survey::ids::{CheckId, EggId, ProtocolId, SiteId, VisitId};
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::site::{EggFate, EggSeen, LeafSide, OutsideFind, PlantDescription, SatOn, SiteDescription};
use survey::stage::{AnimalState, Stage, What};
use survey::visit::{
    AdultAct, AdultEffort, AdultsCounted, ChecksCompared, Comparison, Matched, PooledCheck, Share, VisitDescription,
    Weather,
};
use sync::engine::Dice;

/// What an act gave and what it wrote; `None` where it was not allowed or the disk was full, and nothing was written.
type Done<T> = Result<Option<(T, Vec<Link>)>, Trouble>;

/// Plants with what is shown of each: living and other animals.
type Shown = BTreeMap<CheckId, (BTreeMap<What, u64>, u64)>;

/// A grey picture of 8 x 8 pixels, written by hand after ITU-T T.81.
const SMALL_JPEG: &[u8] = include_bytes!("../../../rust-core/handset/tests/fixtures/small.jpg");

/// Stages that are counted here.
const STAGES: [Stage; 5] = [Stage::Egg, Stage::Larva1, Stage::Larva3, Stage::Larva5, Stage::Pupa];

impl World<'_> {
    /// An act of a person; `false` where it was not allowed as things stand.
    pub(crate) fn person(&mut self, at: usize, deed: Deed, dice: &mut Dice) -> Result<bool, Trouble> {
        let done = match deed {
            Deed::NewSite => self.new_site(at)?.is_some(),
            Deed::AdoptSite => self.adopt_site(at, dice)?,
            Deed::DescribeSite => {
                let Some(site) = self.some_site(at, dice)? else { return Ok(false) };
                let stems = u32::try_from(1 + below(dice, 900)).unwrap_or(1);
                let description = SiteDescription { stems_expected: Some(stems), ..SiteDescription::default() };
                self.attempt(at, |phone| phone.describe_site(Some(site), description))?.is_some()
            }
            Deed::Begin => self.begin(at, None, dice)?,
            Deed::BeginBeside => {
                let other = usize::try_from(below(dice, self.phones.len() as u64)).unwrap_or(0);
                let Ok(view) = self.phones[other].handset()?.visit() else { return Ok(false) };
                if other == at {
                    return Ok(false);
                }
                let name = view.site_name.unwrap_or_else(|| "Invented place".into());
                let adopted = self.attempt(at, |phone| phone.adopt_site(view.site, &name))?;
                adopted.is_some() && self.begin(at, Some((view.site, view.visit)), dice)?
            }
            Deed::TakeInHand => {
                let Some(visit) = self.some_visit(at, dice)? else { return Ok(false) };
                self.attempt(at, |phone| phone.take_in_hand(visit))?.is_some()
            }
            Deed::Tap | Deed::CountMany => self.count(at, deed, dice)?,
            Deed::TakeBack | Deed::Redo => self.take_back(at, deed)?,
            Deed::TakeBackEntry => self.take_back_entry(at, dice)?,
            Deed::NextPlant => {
                self.with_plant(at, dice)?
                    && self.attempt(at, |phone| phone.next_plant(OpenPlant::default()))?.is_some()
            }
            Deed::EmptyPlant => self.with_visit(at, dice)? && self.attempt(at, Handset::empty_plant)?.is_some(),
            Deed::ClosePlant => {
                let extents = [Extent::Whole, Extent::Whole, Extent::Part, Extent::Refused(RefusedFor::Danger)];
                let extent = extents[usize::try_from(below(dice, 4)).unwrap_or(0)];
                self.with_plant(at, dice)? && self.attempt(at, |phone| phone.close_plant(extent))?.is_some()
            }
            Deed::DescribePlant => {
                let height = u16::try_from(1 + below(dice, 200)).unwrap_or(1);
                let condition = Some(Condition::Sound).filter(|_| below(dice, 2) == 0);
                let description =
                    CheckDescription { height_cm: Some(height), condition, ..CheckDescription::default() };
                self.with_plant(at, dice)?
                    && self.attempt(at, |phone| phone.describe_plant(None, description))?.is_some()
            }
            Deed::End => self.attempt(at, Handset::end_visit)?.is_some(),
            Deed::Note | Deed::EraseNote | Deed::Photo | Deed::LosePhoto => self.blob(at, deed, dice)?,
            _ => self.whole(at, deed, dice)?,
        };
        Ok(done)
    }

    /// Acts about a visit or a site as a whole.
    fn whole(&mut self, at: usize, deed: Deed, dice: &mut Dice) -> Result<bool, Trouble> {
        Ok(match deed {
            Deed::Weather => {
                let air = i16::try_from(below(dice, 400)).unwrap_or(0);
                let weather = Weather { air_decicelsius: Some(air), ..Weather::default() };
                self.attempt(at, |phone| phone.note_weather(weather))?.is_some()
            }
            Deed::DescribeVisit => {
                let minutes = u32::try_from(1 + below(dice, 90)).unwrap_or(1);
                let description = VisitDescription { person_minutes: Some(minutes), ..VisitDescription::default() };
                self.attempt(at, |phone| phone.describe_visit(description))?.is_some()
            }
            Deed::Adults => {
                let seen = u32::try_from(below(dice, 9)).unwrap_or(0);
                let counted = AdultsCounted { effort: AdultEffort::Noted, seen: [(AdultAct::Laying, seen)].into() };
                self.with_visit(at, dice)? && self.attempt(at, |phone| phone.count_adults(counted))?.is_some()
            }
            Deed::Pooled => {
                let totals = [(What::Stage(Stage::Egg), u32::try_from(below(dice, 30)).unwrap_or(0))].into();
                let check = PooledCheck { checked: Some(40), unit: Unit::Stem, totals };
                self.with_visit(at, dice)? && self.attempt(at, |phone| phone.pooled_check(check))?.is_some()
            }
            Deed::Match => {
                let Some([one, other]) = self.two_checks(at, dice)? else { return Ok(false) };
                let matched = Matched { checks: [one, other], both: [(What::Stage(Stage::Egg), 0)].into() };
                self.attempt(at, |phone| phone.match_checks(matched))?.is_some()
            }
            Deed::Compare => {
                let Some(two) = self.two_checks(at, dice)? else { return Ok(false) };
                let verdicts = [Comparison::DifferentPlants, Comparison::SamePlantIndependent];
                let verdict = verdicts[usize::try_from(below(dice, 2)).unwrap_or(0)];
                let compared = ChecksCompared { checks: two.into(), verdict };
                self.attempt(at, |phone| phone.compare_checks(compared))?.is_some()
            }
            Deed::JoinVisits => self.join_visits(at, dice)?,
            Deed::JoinSites => {
                let (one, other) = (self.some_site(at, dice)?, self.some_site(at, dice)?);
                let (Some(one), Some(other)) = (one, other) else { return Ok(false) };
                self.attempt(at, |phone| phone.join_sites(one, other))?.is_some()
            }
            Deed::TagPlant => {
                let Some(site) = self.some_site(at, dice)? else { return Ok(false) };
                let label = Some(format!("T{}", below(dice, 50)));
                let description = PlantDescription { label, ..PlantDescription::default() };
                self.attempt(at, |phone| phone.tag_plant(site, None, description))?.is_some()
            }
            Deed::FindOutside => {
                let Some(site) = self.some_site(at, dice)? else { return Ok(false) };
                let what = What::Stage(Stage::Larva5);
                let find = OutsideFind { what, state: AnimalState::Alive, number: 2, on: SatOn::Ground, place: None };
                self.attempt(at, |phone| phone.found_outside(site, find))?.is_some()
            }
            Deed::SeeEgg => {
                let Some(site) = self.some_site(at, dice)? else { return Ok(false) };
                let egg = EggId::from_octets([u8::try_from(below(dice, 3)).unwrap_or(0); 16]);
                let seen = EggSeen { egg, plant: None, leaf_pair: 2, side: LeafSide::Under, fate: EggFate::Present };
                self.attempt(at, |phone| phone.see_egg(site, seen))?.is_some()
            }
            _ => false,
        })
    }

    /// Tries an act. One that is refused, or for which there is no room, must have written nothing.
    pub(crate) fn attempt<T>(
        &mut self,
        at: usize,
        act: impl FnOnce(&mut Handset) -> Result<T, HandsetError>,
    ) -> Done<T> {
        let phone = &mut self.phones[at];
        phone.read_on(&mut self.ledger)?;
        let full = phone.full_for > 0;
        let before = phone.handset()?.last_seq();
        match act(phone.handset()?) {
            Ok(done) => Ok(Some((done, phone.read_on(&mut self.ledger)?))),
            Err(error) if matches!(error.kind, Kind::NotAllowed(_)) || (full && error.kind == Kind::Full) => {
                let written = phone.read_on(&mut self.ledger)?.len();
                let after = phone.handset()?.last_seq();
                hold!(written == 0 && before == after, "{written} entries of an act that was refused: {error}");
                if error.kind == Kind::Full {
                    self.coverage.saw("act refused for a full disk");
                }
                Ok(None)
            }
            Err(error) => Err(error.into()),
        }
    }

    /// Whether another phone is the same device.
    fn has_twin(&self, at: usize) -> bool {
        self.phones.iter().filter(|phone| phone.device() == self.phones[at].device()).count() > 1
    }

    fn new_site(&mut self, at: usize) -> Result<Option<SiteId>, Trouble> {
        self.made += 1;
        let description =
            SiteDescription { name: Some(format!("Invented place {}", self.made)), ..SiteDescription::default() };
        Ok(self.attempt(at, |phone| phone.describe_site(None, description))?.map(|(view, _)| view.site.id))
    }

    fn adopt_site(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        let other = usize::try_from(below(dice, self.phones.len() as u64)).unwrap_or(0);
        let Some(site) = self.some_site(other, dice)? else { return Ok(false) };
        let adopted = self.attempt(at, |phone| phone.adopt_site(site, "Invented place of another"))?.is_some();
        if adopted && other != at && below(dice, 3) > 0 {
            self.open_site(at, site)?;
        }
        Ok(adopted)
    }

    fn some_site(&mut self, at: usize, dice: &mut Dice) -> Result<Option<SiteId>, Trouble> {
        let sites = self.phones[at].sites()?;
        Ok(pick(&sites, dice))
    }

    fn some_visit(&mut self, at: usize, dice: &mut Dice) -> Result<Option<VisitId>, Trouble> {
        let Some(site) = self.some_site(at, dice)? else { return Ok(None) };
        let Ok(view) = self.phones[at].handset()?.site(site) else { return Ok(None) };
        let visits: Vec<VisitId> = view.visits.iter().map(|row| row.visit).collect();
        Ok(pick(&visits, dice))
    }

    fn begin(&mut self, at: usize, beside: Option<(SiteId, VisitId)>, dice: &mut Dice) -> Result<bool, Trouble> {
        let site = match beside {
            Some((site, _)) => Some(site),
            None => match self.some_site(at, dice)? {
                Some(site) => Some(site),
                None => self.new_site(at)?,
            },
        };
        let Some(site) = site else { return Ok(false) };
        let share = [Share::All, Share::Odd, Share::Even][usize::try_from(below(dice, 3)).unwrap_or(0)];
        let audit = if below(dice, 3) == 0 { 2 } else { 0 };
        let how = BeginVisit {
            protocol: Some(protocol(audit)),
            share,
            beside: beside.map(|(_, visit)| visit),
            ..BeginVisit::default()
        };
        let begun = self.attempt(at, |phone| phone.begin_visit(site, how))?;
        if let Some((view, _)) = &begun {
            // Two phones of one device count under one part: whose visit is shown is not settled.
            hold!(view.own_part_ended.is_none() || self.has_twin(at), "a visit that began shows as one that ended");
        }
        Ok(begun.is_some())
    }

    /// Whether a visit goes on on this phone; begins one where none does.
    fn with_visit(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        match self.phones[at].handset()?.visit() {
            Ok(view) if view.own_part_ended.is_none() => Ok(true),
            _ => self.begin(at, None, dice),
        }
    }

    /// Whether a plant is open; opens one where none is.
    fn with_plant(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        if self.phones[at].handset()?.visit().is_ok_and(|view| view.open.is_some()) {
            return Ok(true);
        }
        if !self.with_visit(at, dice)? {
            return Ok(false);
        }
        let open = OpenPlant { host: Some(Host::Species("Asclepias syriaca".into())), ..OpenPlant::default() };
        Ok(self.attempt(at, |phone| phone.open_plant(open))?.is_some())
    }

    fn count(&mut self, at: usize, deed: Deed, dice: &mut Dice) -> Result<bool, Trouble> {
        if !self.with_plant(at, dice)? {
            return Ok(false);
        }
        let what: What = match below(dice, 6) {
            5 => "egg+none".parse().map_err(|_| Trouble::new("two outcomes are a set"))?,
            n => What::Stage(STAGES[usize::try_from(n).unwrap_or(0)]),
        };
        let many = deed == Deed::CountMany;
        let state = if many && below(dice, 3) == 0 { AnimalState::Collapsed } else { AnimalState::Alive };
        let number = if many { u32::try_from(1 + below(dice, 40)).unwrap_or(1) } else { 1 };
        let Some(open) = self.phones[at].handset()?.visit()?.open else { return Ok(false) };
        let before = shown_as(&self.phones[at].handset()?.plant(open)?, &what, state);
        let count = Count { what: what.clone(), state, number, key: None, check: None };
        let Some((view, written)) = self.attempt(at, |phone| phone.count(count))? else { return Ok(false) };
        let after = shown_as(&view, &what, state);
        hold!(after == before + u64::from(number), "{number} {what} on {before} were shown as {after}");
        let counted = of_kind(&written, "counted");
        let right = counted.len() == 1 && {
            let payload = &counted[0]["payload"];
            payload["what"] == what.to_string().as_str()
                && payload["number"].as_u64().unwrap_or(1) == u64::from(number)
                && payload["check"] == open.to_string().as_str()
        };
        hold!(right, "{number} {what} were written as {counted:?}");
        Ok(true)
    }

    fn take_back(&mut self, at: usize, deed: Deed) -> Result<bool, Trouble> {
        let Some(before) = shown(&mut self.phones[at])? else { return Ok(false) };
        let done = match deed {
            Deed::TakeBack => self.attempt(at, Handset::take_back)?,
            _ => self.attempt(at, Handset::redo)?,
        };
        let Some((_, written)) = done else { return Ok(false) };
        let after = shown(&mut self.phones[at])?.unwrap_or_default();
        let taken = of_kind(&written, "taken-back");
        hold!(!taken.is_empty(), "a take-back wrote none");
        self.compare_shown(&before, &after, &taken)?;
        Ok(true)
    }

    /// Each count that was taken back or redone has to be gone from, or to be on, the screen: exactly once.
    fn compare_shown(&self, before: &Shown, after: &Shown, taken: &[Value]) -> Result<(), Trouble> {
        let by_id: BTreeMap<&str, &crate::ledger::Line> =
            self.ledger.lines.values().map(|line| (line.id.as_str(), line)).collect();
        let reviewed: BTreeSet<&str> = self
            .ledger
            .lines
            .values()
            .filter(|line| line.kind == "reviewed")
            .filter_map(|line| line.payload["count"].as_str())
            .collect();
        let mut due: BTreeMap<&str, i64> = BTreeMap::new();
        for entry in taken {
            let (mut at, mut sign) = (entry["payload"]["target"].as_str().unwrap_or_default(), -1);
            while let Some(line) = by_id.get(at).filter(|line| line.kind == "taken-back") {
                at = line.payload["target"].as_str().unwrap_or_default();
                sign = -sign;
            }
            let Some(line) = by_id.get(at).filter(|line| line.kind == "counted") else { continue };
            if reviewed.contains(at) {
                return Ok(());
            }
            let number = i64::try_from(line.payload["number"].as_u64().unwrap_or(1)).unwrap_or(0);
            *due.entry(line.payload["check"].as_str().unwrap_or_default()).or_default() += sign * number;
        }
        let total = |shown: &Shown, check: &str| -> i64 {
            let found = shown.iter().find(|(id, _)| id.to_string() == check);
            found.map_or(0, |(_, (living, others))| i64::try_from(living.values().sum::<u64>() + others).unwrap_or(0))
        };
        for (check, change) in due {
            let (had, has) = (total(before, check), total(after, check));
            hold!(has == had + change, "taking back changed plant {check} from {had} to {has}, {change} was due");
        }
        Ok(())
    }

    fn take_back_entry(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        let device = self.phones[at].device();
        let own: Vec<String> = self
            .ledger
            .lines
            .iter()
            .filter(|(place, line)| place.0.device == device && line.scope.0.is_some())
            .map(|(_, line)| line.id.clone())
            .collect();
        let Some(id) = pick(&own, dice) else { return Ok(false) };
        let Ok(id) = id.parse() else { return Ok(false) };
        Ok(self.attempt(at, |phone| phone.take_back_entry(id))?.is_some())
    }

    fn two_checks(&mut self, at: usize, dice: &mut Dice) -> Result<Option<[CheckId; 2]>, Trouble> {
        let Ok(view) = self.phones[at].handset()?.visit() else { return Ok(None) };
        let same: Vec<[CheckId; 2]> = view
            .plants
            .iter()
            .flat_map(|one| view.plants.iter().map(move |other| (one, other)))
            .filter(|(one, other)| one.check < other.check && one.extent.is_some() && other.extent.is_some())
            .map(|(one, other)| [one.check, other.check])
            .collect();
        Ok(pick(&same, dice))
    }

    fn join_visits(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        let (Some(one), Some(other)) = (self.some_visit(at, dice)?, self.some_visit(at, dice)?) else {
            return Ok(false);
        };
        let phone = self.phones[at].handset()?;
        let (Ok(first), Ok(second)) = (phone.visit_of(one), phone.visit_of(other)) else { return Ok(false) };
        if first.site != second.site {
            return Ok(false);
        }
        Ok(self.attempt(at, |phone| phone.join_visits(one, other))?.is_some())
    }

    fn blob(&mut self, at: usize, deed: Deed, dice: &mut Dice) -> Result<bool, Trouble> {
        match deed {
            Deed::Note => {
                let text = format!("Invented note {:x}", dice.roll());
                let site = self.some_site(at, dice)?.filter(|_| below(dice, 2) == 0);
                Ok(self.attempt(at, |phone| phone.note(site, &text))?.is_some())
            }
            Deed::EraseNote => {
                let phone = &self.phones[at];
                let mut statement = phone.database()?.prepare_cached("SELECT hash FROM text ORDER BY hash")?;
                let rows = statement.query_map([], |row| row.get::<_, [u8; 32]>(0))?;
                let hashes = rows.collect::<Result<Vec<_>, _>>()?;
                drop(statement);
                let Some(hash) = pick(&hashes, dice) else { return Ok(false) };
                Ok(self.attempt(at, |phone| phone.erase_text(survey::chain::Hash(hash)))?.is_some())
            }
            Deed::Photo => {
                let open = self.phones[at].handset()?.visit().ok().and_then(|view| view.open);
                let asked = self.phones[at].handset()?.visit().ok().and_then(|view| view.photo_asked);
                let site = self.some_site(at, dice)?;
                let (site, of) = match (asked, open, site) {
                    (Some(count), ..) => (None, PhotoOf::Count(count)),
                    (None, Some(check), _) => (None, PhotoOf::Check(check)),
                    (None, None, Some(site)) => (Some(site), PhotoOf::Site),
                    (None, None, None) => return Ok(false),
                };
                Ok(self.attempt(at, |phone| phone.take_photo(site, of, SMALL_JPEG))?.is_some())
            }
            _ => {
                let phone = &self.phones[at];
                let sql = "SELECT photo FROM photo WHERE name IS NOT NULL ORDER BY photo";
                let mut statement = phone.database()?.prepare_cached(sql)?;
                let rows = statement.query_map([], |row| row.get::<_, [u8; 16]>(0))?;
                let photos = rows.collect::<Result<Vec<_>, _>>()?;
                drop(statement);
                let Some(photo) = pick(&photos, dice) else { return Ok(false) };
                let photo = survey::ids::PhotoId::from_octets(photo);
                Ok(self.attempt(at, |phone| phone.lose_photo(photo))?.is_some())
            }
        }
    }
}

/// Draws one of them.
pub(crate) fn pick<T: Clone>(among: &[T], dice: &mut Dice) -> Option<T> {
    let at = usize::try_from(below(dice, among.len() as u64)).ok()?;
    among.get(at).cloned()
}

/// What is shown of the plants of the visit in hand.
pub(crate) fn shown(phone: &mut Phone) -> Result<Option<Shown>, Trouble> {
    let Ok(view) = phone.handset()?.visit() else { return Ok(None) };
    Ok(Some(view.plants.into_iter().map(|row| (row.check, (row.living, row.not_living))).collect()))
}

fn shown_as(view: &PlantView, what: &What, state: AnimalState) -> u64 {
    let tiles = view.stages.iter().chain(&view.undecided).chain(&view.outside_scope);
    let rows = tiles.filter(|tile| tile.what == *what).flat_map(|tile| &tile.by_state);
    rows.filter(|row| row.state == state).map(|row| row.number).sum()
}

fn of_kind(links: &[Link], kind: &str) -> Vec<Value> {
    let read = links.iter().filter_map(|link| serde_json::from_slice::<Value>(&link.bytes).ok());
    read.filter(|value| value["kind"] == kind).collect()
}

fn protocol(audit_one_in: u16) -> Protocol {
    Protocol {
        id: ProtocolId::from_octets([9; 16]),
        name: "Every third stem".into(),
        stages: BTreeSet::from(Stage::EGG_TO_LARVA5),
        choice: PlantChoice::EveryKth { k: 3, start: 1 },
        units: BTreeMap::from([(Host::NotDetermined, Unit::Stem)]),
        search: SearchRule::Whole,
        audit_one_in,
        stop: StopRule { goal: GoalGroup::Immatures, at_least: 30, at_most: 200 },
    }
}
