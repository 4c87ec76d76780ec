//! Invented journals: weekly visits of one site, plant by plant. No real place, person or count.

use crate::Failure;
use crate::dice::Dice;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Head, Link, StreamId};
use survey::check::{Counted, Extent, PlantClosed, PlantOpened, SeenEmpty};
use survey::entry::{Act, Scope, VisitEnded};
use survey::ids::{BootId, CheckId, DeviceId, Epoch, ObserverId, ProtocolId, SiteId, VisitId};
use survey::protocol::{GoalGroup, Host, PlantChoice, Protocol, SearchRule, StopRule, Unit};
use survey::recorder::{Deed, Recorder};
use survey::site::SiteDescription;
use survey::stage::{AnimalState, Stage, What};
use survey::time::{Now, OffsetMinutes, SinceBoot, UnixMs};
use survey::visit::{Share, VisitBegun, Weather};

/// 2026-06-01 14:00 UTC.
const FIRST: i64 = 1_780_322_400_000;
const WEEK_MS: i64 = 7 * 24 * 3600 * 1000;

/// A journal of one phone.
#[derive(Debug)]
pub struct Season {
    /// Its stream.
    pub stream: StreamId,
    /// The site.
    pub site: SiteId,
    /// Its entries.
    pub links: Vec<Link>,
    /// How many of them are taps: counts of one animal.
    pub taps: usize,
}

/// The protocol of every visit: nothing is audited, so that an act is one entry.
pub fn protocol() -> Protocol {
    Protocol {
        id: ProtocolId::from_octets([7; 16]),
        name: "Weekly walk".into(),
        stages: BTreeSet::from(Stage::EGG_TO_LARVA5),
        choice: PlantChoice::All,
        units: BTreeMap::new(),
        search: SearchRule::Whole,
        audit_one_in: 0,
        stop: StopRule { goal: GoalGroup::Eggs, at_least: 1, at_most: 1000 },
    }
}

/// Weekly visits of a site by a phone, until `enough` says so of the weeks and the entries so far: 10 to 20 plants a
/// visit, none to six animals on a plant.
///
/// # Errors
/// An entry that is none: never, with these.
pub fn season(seed: u64, stream: Option<StreamId>, enough: impl Fn(i64, usize) -> bool) -> Result<Season, Failure> {
    let mut dice = Dice::new(seed);
    let stream = stream
        .unwrap_or_else(|| StreamId { device: DeviceId::random(dice.octets()), epoch: Epoch::random(dice.octets()) });
    let mut writer = Writer {
        recorder: Recorder::after(stream, Head::START, None),
        boot: BootId::random(dice.octets()),
        wall: FIRST,
        links: Vec::new(),
        dice,
    };
    let site = SiteId::timed(FIRST, writer.dice.octets());
    let observer = ObserverId::random(writer.dice.octets());
    let name = Some(format!("Invented field {seed}"));
    writer.act(Scope::Site(site), Act::SiteDescribed(SiteDescription { name, ..SiteDescription::default() }))?;
    let (mut week, mut taps) = (0, 0);
    while !enough(week, writer.links.len()) {
        writer.wall = writer.wall.max(FIRST + week * WEEK_MS);
        week += 1;
        taps += writer.visit(site, observer)?;
    }
    Ok(Season { stream, site, links: writer.links, taps })
}

struct Writer {
    recorder: Recorder,
    boot: BootId,
    wall: i64,
    links: Vec<Link>,
    dice: Dice,
}

impl Writer {
    fn act(&mut self, scope: Scope, act: Act) -> Result<(), Failure> {
        // Half a second to eight between two acts, told to the millisecond.
        self.wall += 500 + i64::try_from(self.dice.below(7_500))?;
        let ms = 3_600_000 + u64::try_from(self.wall - FIRST)?;
        let since_boot = SinceBoot { boot: self.boot, ms };
        let now = Now { wall: UnixMs(self.wall), offset: OffsetMinutes(-300), since_boot };
        let (_, link) = self.recorder.record(Deed { scope, replaces: Vec::new(), act }, now, self.dice.octets())?;
        self.links.push(link);
        Ok(())
    }

    fn visit(&mut self, site: SiteId, observer: ObserverId) -> Result<usize, Failure> {
        let scope = Scope::Visit(site, VisitId::timed(self.wall, self.dice.octets()));
        let observers = BTreeSet::from([observer]);
        self.act(scope, Act::VisitBegun(VisitBegun { protocol: protocol(), observers, share: Share::All }))?;
        self.act(scope, Act::WeatherNoted(Weather { air_decicelsius: Some(241), ..Weather::default() }))?;
        let mut taps = 0;
        for number in 1..=10 + u32::try_from(self.dice.below(11))? {
            let check = CheckId::timed(self.wall, self.dice.octets());
            let host = Some(Host::Species("Asclepias syriaca".into()));
            self.act(scope, Act::PlantOpened(PlantOpened { check, number, unit: Unit::Stem, host, plant: None }))?;
            // Half of the plants are empty, as most are in the field.
            let animals = if self.dice.below(2) == 0 { 0 } else { 1 + self.dice.below(6) };
            for _ in 0..animals {
                let drawn = usize::try_from(self.dice.below(Stage::EGG_TO_LARVA5.len() as u64))?;
                let what = What::Stage(Stage::EGG_TO_LARVA5[drawn]);
                let counted = Counted { check, what, number: 1, state: AnimalState::Alive, key: None };
                self.act(scope, Act::Counted(counted))?;
                taps += 1;
            }
            let empty = (animals == 0).then_some(SeenEmpty::SeenEmpty);
            self.act(scope, Act::PlantClosed(PlantClosed { check, extent: Extent::Whole, empty }))?;
        }
        self.act(scope, Act::VisitEnded(VisitEnded {}))?;
        Ok(taps)
    }
}
