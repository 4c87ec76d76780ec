//! A counting session told by a seed: every place, note and picture in it is invented.

use crate::dice::Dice;
use crate::files::recorded_disk;
use crate::log::Log;
use crate::station::Station;
use crate::told::{Broken, Held, Steps, Told};
use handset::acts::{BeginVisit, Count, OpenPlant};
use handset::surroundings::Surroundings;
use handset::surroundings::marker::FileMarker;
use handset::surroundings::scripted::Script;
use handset::sync::{Asker, Body, Metered, Outcome};
use handset::{Handset, HandsetError, Kind};
use rusqlite::{Connection, OpenFlags};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use survey::check::{Extent, PhotoOf};
use survey::ids::{PhotoId, ProtocolId, SiteId};
use survey::protocol::{GoalGroup, PlantChoice, Protocol, SearchRule, StopRule};
use survey::site::SiteDescription;
use survey::stage::{Stage, What};
use survey::time::{OffsetMinutes, UnixMs};
use survey::visit::Weather;

/// What a session is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Acts {
    /// Everything a person does in the field and at home.
    All,
    /// Taps, plants, notes and photos on one phone that is never closed.
    Taps,
}

/// How long, and of what.
#[derive(Debug, Clone, Copy)]
pub struct Plan {
    /// Tells everything.
    pub seed: u64,
    /// How many acts.
    pub acts: usize,
    /// Of what.
    pub of: Acts,
}

/// The phone's folder below the root of a log or an image.
pub fn data(root: &Path) -> PathBuf {
    root.join("phone").join("data")
}

/// Where the marker lies, below the root of a log or an image.
pub fn marker(root: &Path) -> PathBuf {
    root.join("phone").join("no-backup").join("marker")
}

/// 2026-07-04 09:30 UTC.
pub const START: UnixMs = UnixMs(1_783_157_400_000);

/// A picture of so many segments more than it needs: an invented grey square.
pub fn picture(more: usize, dice: &mut Dice) -> Vec<u8> {
    let mut picture = SMALL[..2].to_vec();
    for _ in 0..more {
        picture.extend([0xFF, 0xDB, 0xFF, 0xFF]);
        picture.extend(dice.octets(0xFFFF - 2));
    }
    picture.extend(&SMALL[2..]);
    picture
}

/// Plays a session below the log's root.
///
/// # Errors
/// An act that failed and was not refused for what it asked: the session is in order, so there is no reason to.
pub fn play(log: &Arc<Log>, plan: Plan) -> Result<(), Failed> {
    let disk = recorded_disk(log);
    let script = Script::new(plan.seed, START, OffsetMinutes(-300));
    let around = || Surroundings {
        marker: Box::new(FileMarker::at(marker(log.root()), disk.files.clone())),
        disk: disk.clone(),
        ..script.surroundings()
    };
    let folder = data(log.root());
    let phone = Handset::open(&folder, around())?;
    let vfs = disk.vfs.clone().unwrap_or_default();
    let mut session = Session {
        phone: Some(phone),
        log,
        folder,
        vfs,
        dice: Dice::new(plan.seed, 0),
        station: Station::default(),
        photos: Vec::new(),
        texts: Vec::new(),
        site: None,
        joined: false,
    };
    session.tell("opened", Steps::Several)?;
    session.begin()?;
    for _ in 0..plan.acts {
        script.pass(2500);
        let act = session.dice.below(if plan.of == Acts::All { 34 } else { 25 });
        session.act(act, &around)?;
    }
    if plan.of == Acts::All {
        session.sync()?;
    }
    session.phone = None;
    session.tell_closed("closed")
}

/// A session that cannot be played to its end.
#[derive(Debug, thiserror::Error)]
pub enum Failed {
    /// An act failed.
    #[error("an act failed: {0}")]
    Act(#[from] HandsetError),
    /// The folder is out of order in the middle of it.
    #[error(transparent)]
    Order(#[from] Broken),
    /// The rehearsal's own database call failed.
    #[error("database: {0}")]
    Database(#[from] rusqlite::Error),
}

const SMALL: &[u8] = include_bytes!("../../../rust-core/handset/tests/fixtures/small.jpg");

struct Session<'a> {
    phone: Option<Handset>,
    log: &'a Arc<Log>,
    folder: PathBuf,
    vfs: String,
    dice: Dice,
    station: Station,
    photos: Vec<PhotoId>,
    texts: Vec<survey::chain::Hash>,
    site: Option<SiteId>,
    joined: bool,
}

impl Session<'_> {
    fn phone(&mut self) -> &mut Handset {
        self.phone.as_mut().expect("the phone is on between acts")
    }

    fn begin(&mut self) -> Result<(), Failed> {
        let description = SiteDescription { name: Some("Invented verge".into()), ..SiteDescription::default() };
        let site = self.phone().describe_site(None, description)?.site.id;
        self.site = Some(site);
        self.tell("site described", Steps::One)?;
        self.phone().begin_visit(site, BeginVisit { protocol: Some(protocol()), ..BeginVisit::default() })?;
        self.tell("visit begun", Steps::One)?;
        self.phone().open_plant(OpenPlant::default())?;
        self.tell("plant opened", Steps::One)
    }

    fn act(&mut self, which: usize, around: &dyn Fn() -> Surroundings) -> Result<(), Failed> {
        let stage = self.dice.one_of(&Stage::EGG_TO_LARVA5);
        match which {
            0..=9 => self.one("counted", |phone| phone.count(Count::one(stage)).map(drop)),
            10 => {
                let what: What = "egg+none".parse().unwrap_or(Stage::Egg.into());
                self.one("counted in doubt", |phone| phone.count(Count::one(what)).map(drop))
            }
            11..=13 => self.one("empty plant", |phone| phone.empty_plant().map(drop)),
            14 | 15 => self.one("next plant", |phone| phone.next_plant(OpenPlant::default()).map(drop)),
            16 | 17 => self.one("taken back", |phone| phone.take_back().map(drop)),
            18 => self.one("redone", |phone| phone.redo().map(drop)),
            19 => self.one("weather noted", |phone| {
                phone.note_weather(Weather { air_decicelsius: Some(235), ..Weather::default() }).map(drop)
            }),
            20 => {
                let text = format!("An invented note, number {}", self.texts.len());
                let texts = &mut self.texts;
                let phone = self.phone.as_mut().expect("the phone is on between acts");
                texts.push(phone.note(None, &text)?);
                self.tell("noted", Steps::One)
            }
            21 => match self.texts.pop() {
                Some(text) => self.one("text erased", |phone| phone.erase_text(text)),
                None => Ok(()),
            },
            22..=24 => self.photo(),
            25 => match self.photos.pop() {
                Some(photo) => self.one("photo lost", |phone| phone.lose_photo(photo)),
                None => Ok(()),
            },
            26 => self.checkpoint(),
            27 => {
                self.phone().refold()?;
                self.tell("refolded", Steps::Several)
            }
            28 => {
                self.phone = None;
                self.phone = Some(Handset::open(&self.folder, around())?);
                self.tell("opened again", Steps::Several)
            }
            29 => self.another_visit(),
            _ => self.sync(),
        }
    }

    /// An act of one transaction; one that is refused as things stand changes nothing.
    fn one(&mut self, act: &str, play: impl FnOnce(&mut Handset) -> Result<(), HandsetError>) -> Result<(), Failed> {
        match play(self.phone()) {
            Err(HandsetError { kind: Kind::NotAllowed(_), .. }) => Ok(()),
            other => {
                other?;
                self.tell(act, Steps::One)
            }
        }
    }

    fn photo(&mut self) -> Result<(), Failed> {
        let Some(check) = self.phone().visit().ok().and_then(|visit| visit.open) else { return Ok(()) };
        let more = self.dice.one_of(&[0, 1, 2, 17]);
        let picture = picture(more, &mut self.dice);
        let photo = self.phone().take_photo(None, PhotoOf::Check(check), &picture)?;
        self.photos.push(photo);
        self.tell("photo taken", Steps::One)
    }

    fn another_visit(&mut self) -> Result<(), Failed> {
        let (Some(site), Ok(_)) = (self.site, self.phone().visit()) else { return Ok(()) };
        self.one("plant closed", |phone| phone.close_plant(Extent::Whole).map(drop))?;
        self.one("visit ended", |phone| phone.end_visit().map(drop))?;
        self.one("visit begun", |phone| phone.begin_visit(site, BeginVisit::default()).map(drop))?;
        self.one("plant opened", |phone| phone.open_plant(OpenPlant::default()).map(drop))
    }

    /// As SQLite does by itself when its log has a thousand pages.
    fn checkpoint(&mut self) -> Result<(), Failed> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let path = self.folder.join("journal.sqlite");
        let db = Connection::open_with_flags_and_vfs(path, flags, self.vfs.as_str())?;
        let how = self.dice.one_of(&["PASSIVE", "FULL", "RESTART"]);
        db.execute_batch(&format!("PRAGMA synchronous = FULL; PRAGMA wal_checkpoint({how})"))?;
        drop(db);
        self.tell("checkpoint", Steps::Several)
    }

    /// With a network that loses some answers, and a phone that is closed in the middle of some transfers.
    fn sync(&mut self) -> Result<(), Failed> {
        if !self.joined {
            self.phone().join("BCDFGHJKL")?;
            self.joined = true;
            self.tell("joining", Steps::Several)?;
        }
        self.phone().sync_wanted(Asker::Person, Metered::No)?;
        self.tell("sync wanted", Steps::Several)?;
        while let Some(job) = self.phone().next_job()? {
            self.tell("job handed out", Steps::Several)?;
            let body = match &job.body {
                Body::None => Vec::new(),
                Body::Octets(octets) => octets.clone(),
                Body::File(name) => std::fs::read(self.folder.join(name)).map_err(|_| Broken::Body(name.clone()))?,
            };
            let outcome = match self.dice.below(6) {
                0 => Outcome::Failed,
                1 => {
                    self.station.answer(&job, &body);
                    Outcome::Failed
                }
                _ => Outcome::Answered(self.station.answer(&job, &body)),
            };
            self.phone().job_done(job.id, outcome)?;
            self.tell("outcome stored", Steps::Several)?;
        }
        Ok(())
    }

    fn tell(&mut self, act: &str, steps: Steps) -> Result<(), Failed> {
        let (stream, seq) = (self.phone().stream(), self.phone().last_seq());
        self.note(act, steps, Some((stream, seq)))
    }

    fn tell_closed(&mut self, act: &str) -> Result<(), Failed> {
        self.note(act, Steps::Several, None)
    }

    fn note(
        &mut self,
        act: &str,
        steps: Steps,
        shown: Option<(survey::chain::StreamId, survey::chain::Seq)>,
    ) -> Result<(), Failed> {
        let held = Held::read(&self.folder)?;
        self.log.told(Told { act: act.into(), steps, shown, held });
        Ok(())
    }
}

fn protocol() -> Protocol {
    Protocol {
        id: ProtocolId::from_octets([1; 16]),
        name: "All stems".into(),
        stages: BTreeSet::from(Stage::EGG_TO_LARVA5),
        choice: PlantChoice::All,
        units: BTreeMap::new(),
        search: SearchRule::Whole,
        audit_one_in: 15,
        stop: StopRule { goal: GoalGroup::Eggs, at_least: 1, at_most: 1000 },
    }
}
