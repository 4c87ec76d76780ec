//! A person with a phone: a real handset over its own SQLite file, whose clock and chance are scripted.

use crate::Trouble;
use crate::link::Link;
use crate::scenario::{FIRST_VISIT_MS, Phone, PlantPlan, Tap, VisitPlan, WEEK_MS};
use handset::Handset;
use handset::acts::{BeginVisit, Count, OpenPlant};
use handset::surroundings::scripted::Script;
use handset::sync::{Asker, Metered};
use std::path::{Path, PathBuf};
use survey::check::{CheckDescription, Extent};
use survey::ids::{ObserverId, SiteId, VisitId};
use survey::protocol::{Host, Protocol};
use survey::time::{OffsetMinutes, UnixMs};
use survey::visit::Share;

/// Local time is five hours behind UTC.
const OFFSET: OffsetMinutes = OffsetMinutes(-300);

/// A person with a phone.
#[derive(Debug)]
pub struct Person {
    /// Which phone.
    pub phone: Phone,
    /// The handset.
    pub handset: Handset,
    /// The person, by random id.
    pub observer: ObserverId,
    /// Taps so far: presses that the screen acknowledged.
    pub taps: u64,
    script: Script,
    folder: PathBuf,
    token: Option<String>,
}

/// How a phone's part of a visit begins.
#[derive(Debug, Clone, Default)]
pub struct Begin {
    /// The protocol at the first visit; later ones carry it forward.
    pub protocol: Option<Protocol>,
    /// Which plants the phone takes.
    pub share: Share,
    /// The other phone's visit code.
    pub beside: Option<VisitId>,
}

impl Person {
    /// A person with a fresh phone, whose files are in `folder`.
    ///
    /// # Errors
    /// Those of the handset.
    pub fn with_phone(phone: Phone, folder: &Path, name: &str) -> Result<Self, Trouble> {
        let script = Script::new(0x5EED + phone as u64, UnixMs(FIRST_VISIT_MS - WEEK_MS), OFFSET);
        let mut handset = Handset::open(folder, script.surroundings())?;
        let observer = handset.add_observer(name)?;
        Ok(Self { phone, handset, observer, taps: 0, script, folder: folder.to_owned(), token: None })
    }

    /// Plays this phone's part of a visit and returns the visit's id.
    ///
    /// # Errors
    /// Those of the handset.
    pub fn visit(&mut self, site: SiteId, plan: &VisitPlan, begin: Begin) -> Result<VisitId, Trouble> {
        self.script.pass_until(UnixMs(FIRST_VISIT_MS + i64::from(plan.week) * WEEK_MS));
        // The phone was restarted in the week between: durations must not depend on it.
        self.script.reboot();
        self.script.step(1);
        let observers = [self.observer].into();
        let begin = BeginVisit { protocol: begin.protocol, observers, share: begin.share, beside: begin.beside };
        let visit = self.handset.begin_visit(site, begin)?.visit;
        self.tap(|handset| handset.note_weather(plan.weather))?;
        let plants = plan.plants.get(&self.phone).map_or(&[][..], Vec::as_slice);
        let mut carried = None;
        for (at, plant) in plants.iter().enumerate() {
            self.plant(plant, &mut carried, at + 1 == plants.len())?;
        }
        self.tap(Handset::end_visit)?;
        Ok(visit)
    }

    /// Joins the station by a code, and syncs.
    ///
    /// # Errors
    /// Those of the handset, or that the sync does not come to an end.
    pub fn join_and_sync(&mut self, code: &str, link: &mut dyn Link) -> Result<u32, Trouble> {
        self.token = Some(self.handset.join(code)?);
        self.sync(link)
    }

    /// Syncs until nothing is left to do; the clock moves to the engine's next waking as often as needed. Returns how
    /// many requests it took.
    ///
    /// # Errors
    /// Those of the handset, or that the sync does not come to an end.
    pub fn sync(&mut self, link: &mut dyn Link) -> Result<u32, Trouble> {
        self.handset.sync_wanted(Asker::Person, Metered::No)?;
        let mut requests = 0;
        while requests < 10_000 {
            if let Some(job) = self.handset.next_job()? {
                requests += 1;
                let outcome = link.perform(&job, self.token.as_deref(), &self.folder);
                self.handset.job_done(job.id, outcome)?;
            } else if let Some(wake) = self.handset.next_wake() {
                self.script.pass(wake.saturating_sub(self.script.peek().since_boot.ms));
                self.handset.timer()?;
            } else {
                return Ok(requests);
            }
        }
        Err(Trouble::NoEnd { requests })
    }

    /// The token that the phone joined with, as a shell keeps it.
    pub fn token(&self) -> Option<&str> {
        self.token.as_deref()
    }

    /// Lets time pass on this phone.
    pub fn wait_until(&self, wall: UnixMs) {
        self.script.pass_until(wall);
    }

    /// The SQLite file of the journal.
    pub fn journal(&self) -> PathBuf {
        self.folder.join("journal.sqlite")
    }

    fn plant(&mut self, plant: &PlantPlan, carried: &mut Option<Host>, last: bool) -> Result<(), Trouble> {
        // Walking to the plant and turning its leaves.
        self.script.pass(25_000 + 5_000 * plant.taps.len() as u64);
        let host = || Some(plant.host.clone());
        if carried.is_none() {
            self.tap(|handset| handset.open_plant(OpenPlant { host: host(), ..OpenPlant::default() }))?;
        } else if *carried != host() {
            let description = CheckDescription { host: host(), ..CheckDescription::default() };
            self.tap(|handset| handset.describe_plant(None, description))?;
        }
        *carried = host();
        if plant.taps.is_empty() {
            return self.tap(Handset::empty_plant);
        }
        for tap in &plant.taps {
            self.script.pass(1_500);
            match tap {
                Tap::Count(what, state) => {
                    let count = Count { state: *state, ..Count::one(what.clone()) };
                    self.tap(|handset| handset.count(count))?;
                }
                Tap::TakeBack => self.tap(Handset::take_back)?,
                Tap::Redo => self.tap(Handset::redo)?,
            }
        }
        if last {
            self.tap(|handset| handset.close_plant(Extent::Whole))
        } else {
            self.tap(|handset| handset.next_plant(OpenPlant { host: host(), ..OpenPlant::default() }))
        }
    }

    fn tap<T>(&mut self, act: impl FnOnce(&mut Handset) -> Result<T, handset::HandsetError>) -> Result<(), Trouble> {
        act(&mut self.handset)?;
        self.taps += 1;
        Ok(())
    }
}
