//! A world: phones, one station, the network between them, and a coordinator, played step by step.

use crate::coverage::Coverage;
use crate::desk::Desk;
use crate::ledger::{Ledger, Place};
use crate::net::{Around, Net, Sky};
use crate::phone::Phone;
use crate::station::{Station, Wire};
use crate::step::{Step, below};
use crate::trouble::{Trouble, hold};
use handset::sync::{Asker, Body, HttpJob, Metered, Method, Outcome, Token};
use handset::{HandsetError, Kind};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use survey::ids::{DeviceId, SiteId};
use sync::engine::Dice;
use tokio::runtime::Runtime;

/// A world.
pub struct World<'r> {
    /// Phones that exist.
    pub phones: Vec<Phone>,
    /// The station.
    pub station: Option<Station>,
    /// The book.
    pub ledger: Ledger,
    /// What occurred.
    pub coverage: Coverage,
    /// An app that is none of ours to the letter: newer, garbling, or a reviewer's.
    pub desk: Desk,
    /// What the station has said that it holds, and has not lost by being put back.
    pub promised: BTreeSet<Place>,
    /// The sites that the coordinator, or a site's making, opened to a device.
    pub granted: BTreeMap<DeviceId, BTreeSet<SiteId>>,
    /// Which phone took which one's place.
    pub links: Vec<(DeviceId, DeviceId)>,
    /// What is in the station's copy, where there is one.
    pub copied: Option<BTreeSet<Place>>,
    /// Photos that the station has verified.
    pub(crate) net: Net,
    pub(crate) folder: PathBuf,
    pub(crate) runtime: &'r Runtime,
    pub(crate) seed: u64,
    pub(crate) made: u64,
    /// Steps until the station's disk has room again.
    pub(crate) station_full_for: u32,
}

/// The most requests of one sync: more is an endless loop.
const MOST_REQUESTS: u32 = 400;

/// How a sync goes.
#[derive(Debug, Clone, Copy)]
pub struct Trip {
    /// The network.
    pub sky: Sky,
    /// After how many requests it is given up.
    pub most: u32,
    /// How often the phone waits for what it waits for.
    pub waits: u32,
}

impl Trip {
    /// A good network until all is done.
    pub const GOOD: Self = Self { sky: Sky::Clear, most: MOST_REQUESTS, waits: 60 };
}

impl<'r> World<'r> {
    /// A world with so many phones in an empty folder.
    ///
    /// # Errors
    /// Something does not open.
    pub fn new(folder: &Path, seed: u64, phones: u64, runtime: &'r Runtime) -> Result<Self, Trouble> {
        let mut world = Self {
            phones: Vec::new(),
            station: Some(Station::open(&folder.join("station"))?),
            ledger: Ledger::default(),
            coverage: Coverage::default(),
            desk: Desk::new(seed),
            promised: BTreeSet::new(),
            granted: BTreeMap::new(),
            links: Vec::new(),
            copied: None,
            net: Net::default(),
            folder: folder.to_path_buf(),
            runtime,
            seed,
            made: 0,
            station_full_for: 0,
        };
        let mut dice = Dice::new(seed ^ 0x0071);
        for _ in 0..phones {
            let at = world.buy_phone()?;
            if below(&mut dice, 4) > 0 {
                world.invite(at, &mut dice)?;
            }
        }
        Ok(world)
    }

    /// A phone more; gives its place.
    ///
    /// # Errors
    /// It does not open.
    pub fn buy_phone(&mut self) -> Result<usize, Trouble> {
        self.made += 1;
        let folder = self.folder.join(format!("phone-{}", self.made));
        let seed = self.seed.wrapping_mul(1000).wrapping_add(self.made);
        self.phones.push(Phone::new(folder, seed)?);
        Ok(self.phones.len() - 1)
    }

    /// Plays one step.
    ///
    /// # Errors
    /// Something that must not be.
    pub fn play(&mut self, step: Step) -> Result<(), Trouble> {
        if self.phones.is_empty() {
            return Ok(());
        }
        let at = usize::from(step.who) % self.phones.len();
        let mut dice = Dice::new(step.luck);
        self.make_room(at)?;
        let done = self.act(at, step.deed, &mut dice)?;
        if done {
            self.coverage.saw(step.deed.name());
        }
        for phone in &mut self.phones {
            phone.read_on(&mut self.ledger)?;
            phone.script.pass(500 + below(&mut dice, 20_000));
        }
        Ok(())
    }

    /// Full disks get room again after a while.
    fn make_room(&mut self, at: usize) -> Result<(), Trouble> {
        if self.station_full_for > 0 {
            self.station_full_for -= 1;
            if self.station_full_for == 0 {
                self.station()?.store.limit_pages(None)?;
            }
        }
        let phone = &mut self.phones[at];
        if phone.full_for > 0 {
            phone.full_for -= 1;
            if phone.full_for == 0 {
                phone.handset()?.limit_pages(None)?;
            }
        }
        Ok(())
    }

    /// The station, open.
    ///
    /// # Errors
    /// It is closed: a mistake of the harness.
    pub fn station(&mut self) -> Result<&mut Station, Trouble> {
        self.station.as_mut().ok_or_else(|| Trouble::new("the station is closed"))
    }

    /// Asks the station over a good network, without a phone.
    ///
    /// # Errors
    /// The station said what it must not say.
    pub fn ask(&mut self, wire: Wire) -> Result<handset::sync::Response, Trouble> {
        let mut dice = Dice::new(0);
        match self.carry(wire, Sky::Clear, &mut dice)? {
            Outcome::Answered(response) => Ok(response),
            Outcome::Failed => Err(Trouble::new("a good network lost something")),
        }
    }

    fn carry(&mut self, wire: Wire, sky: Sky, dice: &mut Dice) -> Result<Outcome, Trouble> {
        let station = self.station.as_mut().ok_or_else(|| Trouble::new("the station is closed"))?;
        let mut around = Around { station, runtime: self.runtime, ledger: &self.ledger, coverage: &mut self.coverage };
        self.net.carry(&mut around, wire, sky, dice)
    }

    /// Syncs one phone. `Ok(false)` where its disk is full.
    ///
    /// # Errors
    /// Something that must not be.
    pub fn sync(&mut self, at: usize, trip: Trip, dice: &mut Dice) -> Result<bool, Trouble> {
        let began = self.phones[at].handset()?.sync_wanted(Asker::Person, Metered::No).map(drop);
        if !room(began, self.phones[at].full_for)? {
            return Ok(false);
        }
        let mut out: Vec<HttpJob> = Vec::new();
        let mut answered = Vec::new();
        let (mut requests, mut waits) = (0, 0);
        while requests < trip.most {
            loop {
                let next = self.phones[at].handset()?.next_job();
                match next {
                    Ok(Some(job)) => out.push(job),
                    Ok(None) => break,
                    Err(error) if full(&error, self.phones[at].full_for) => return Ok(false),
                    Err(error) => return Err(error.into()),
                }
            }
            if out.is_empty() {
                let phone = &mut self.phones[at];
                let Some(wake) = phone.handset()?.next_wake().filter(|_| waits < trip.waits) else { break };
                waits += 1;
                let up = phone.script.peek().since_boot.ms;
                phone.script.pass(wake.saturating_sub(up));
                let woken = phone.handset()?.timer();
                if !room(woken, self.phones[at].full_for)? {
                    return Ok(false);
                }
                continue;
            }
            let job = out.swap_remove(usize::try_from(below(dice, out.len() as u64)).unwrap_or(0));
            requests += 1;
            let wire = self.wire_of(at, &job)?;
            let outcome = self.carry(wire, trip.sky, dice)?;
            let again = trip.sky != Sky::Clear && below(dice, 12) == 0;
            let greeted = job.path == sync::wire::paths::HELLO && is_greeting(&outcome);
            let told = self.phones[at].handset()?.job_done(job.id, outcome.clone()).map(drop);
            if !room(told, self.phones[at].full_for)? {
                return Ok(false);
            }
            self.phones[at].believes_old &= !greeted;
            if again {
                answered.push((job.id, outcome));
            }
            if trip.sky != Sky::Clear && below(dice, 9) == 0 && !answered.is_empty() {
                let (id, outcome) = answered.swap_remove(0);
                let told = self.phones[at].handset()?.job_done(id, outcome).map(drop);
                self.coverage.saw("outcome told twice");
                if !room(told, self.phones[at].full_for)? {
                    return Ok(false);
                }
            }
        }
        if trip.sky == Sky::Clear {
            hold!(requests < MOST_REQUESTS, "a sync over a good network did not end in {MOST_REQUESTS} requests");
        }
        self.note_promises(at)?;
        Ok(true)
    }

    /// A job as it goes out.
    pub(crate) fn wire_of(&mut self, at: usize, job: &HttpJob) -> Result<Wire, Trouble> {
        let phone = &self.phones[at];
        let body = match &job.body {
            Body::None => Vec::new(),
            Body::Octets(octets) => octets.clone(),
            Body::File(name) => std::fs::read(phone.folder.join(name))?,
        };
        let mut headers = job.headers.clone();
        if let (Token::Send, Some(token)) = (job.token, &phone.token) {
            headers.push(("authorization".into(), format!("Bearer {token}")));
        }
        let method = match job.method {
            Method::Get => "GET",
            Method::Head => "HEAD",
            Method::Post => "POST",
            Method::Put => "PUT",
        };
        Ok(Wire { method, path: job.path.clone(), headers, body })
    }

    /// What the phone was told that the station holds is a promise from then on.
    fn note_promises(&mut self, at: usize) -> Result<(), Trouble> {
        let phone = &self.phones[at];
        if phone.believes_old {
            return Ok(());
        }
        let mut statement = phone.database()?.prepare_cached(
            "SELECT stream.epoch, entry.seq, entry.hash FROM acknowledged JOIN stream USING (stream) \
             JOIN entry USING (stream) LEFT JOIN hole ON hole.stream = entry.stream AND hole.seq = entry.seq \
             WHERE entry.seq <= acknowledged.seq AND hole.seq IS NULL",
        )?;
        let device = phone.device();
        let rows = statement.query_map([], |row| {
            let epoch = survey::ids::Epoch::from_octets(row.get(0)?);
            let stream = survey::chain::StreamId { device, epoch };
            Ok((stream, row.get::<_, i64>(1)?.unsigned_abs(), survey::chain::Hash(row.get(2)?)))
        })?;
        let said = rows.collect::<Result<Vec<Place>, _>>()?;
        drop(statement);
        self.promised.extend(said);
        Ok(())
    }

    /// Whether the phone has to be invited.
    ///
    /// # Errors
    /// Those of the handset.
    pub fn needs_code(&mut self, at: usize) -> Result<bool, Trouble> {
        let phone = &mut self.phones[at];
        let status = phone.handset()?.sync_status()?;
        Ok(!status.joined || status.needs_joining || phone.token.is_none())
    }

    /// The coordinator lets a phone join, for the first time or again.
    ///
    /// # Errors
    /// Those of handset and store.
    pub fn invite(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        let device = self.phones[at].device();
        let sites: Vec<SiteId> = self.granted.get(&device).into_iter().flatten().copied().collect();
        let linked: Vec<DeviceId> = self.links.iter().filter(|(_, by)| *by == device).map(|(of, _)| *of).collect();
        let station = self.station()?;
        let asked = station.welcome_again(device).and_then(|()| {
            linked.into_iter().try_for_each(|of| station.link(of, device))?;
            station.invite(&sites, dice)
        });
        let code = match asked {
            Ok(code) => code,
            Err(_) if self.station_full_for > 0 => return Ok(false),
            Err(trouble) => return Err(trouble),
        };
        let phone = &mut self.phones[at];
        match phone.handset()?.join(&code) {
            Ok(token) => phone.token = Some(token),
            Err(error) if full(&error, phone.full_for) => return Ok(false),
            Err(error) => return Err(error.into()),
        }
        Ok(true)
    }
}

/// Whether the station has said what it holds.
fn is_greeting(outcome: &Outcome) -> bool {
    match outcome {
        Outcome::Answered(answer) => {
            (200..300).contains(&answer.status)
                && serde_json::from_slice::<sync::wire::hello::HelloAnswer>(&answer.body).is_ok()
        }
        Outcome::Failed => false,
    }
}

/// Whether this is a full disk where the disk is full.
pub(crate) fn full(error: &HandsetError, full_for: u32) -> bool {
    error.kind == Kind::Full && full_for > 0
}

/// Whether it was done; `false` where the disk is full.
pub(crate) fn room(result: Result<(), HandsetError>, full_for: u32) -> Result<bool, Trouble> {
    match result {
        Ok(()) => Ok(true),
        Err(error) if full(&error, full_for) => Ok(false),
        Err(error) => Err(error.into()),
    }
}
