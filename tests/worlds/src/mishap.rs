//! Bad luck: with phones, with the station, and what the coordinator does about it.

use crate::files;
use crate::ledger::Place;
use crate::net::Sky;
use crate::person::{pick, shown};
use crate::phone::{Backup, Phone};
use crate::station::{Station, Wire};
use crate::step::{Deed, below};
use crate::trouble::{Trouble, hold};
use crate::world::{Trip, World, room};
use handset::sync::{Asker, Metered, Outcome};
use serde_json::json;
use station::store::{AccessStore, JournalStore};
use std::collections::BTreeSet;
use survey::chain::Head;
use survey::time::UnixMs;
use sync::engine::Dice;
use sync::wire::{content, paths};

/// The most phones in a world.
const MOST_PHONES: usize = 5;

impl World<'_> {
    /// Plays a deed; `false` where it did not apply.
    pub(crate) fn act(&mut self, at: usize, deed: Deed, dice: &mut Dice) -> Result<bool, Trouble> {
        match deed {
            Deed::Sync => {
                let sky = Sky::draw(dice);
                let trip = Trip { sky, most: u32::try_from(1 + below(dice, 60)).unwrap_or(1), waits: 6 };
                self.sync(at, trip, dice)
            }
            Deed::SyncGood => {
                let trip = Trip { most: u32::try_from(1 + below(dice, 80)).unwrap_or(1), ..Trip::GOOD };
                self.sync(at, trip, dice)
            }
            Deed::Join => Ok(self.needs_code(at)? && self.invite(at, dice)?),
            Deed::Kill => self.kill(at),
            Deed::KillInJob => self.kill_in_job(at, dice),
            Deed::PowerCut => self.power_cut(at, dice),
            Deed::BackUp => {
                self.made += 1;
                let folder = self.folder.join(format!("copy-{}", self.made));
                let phone = &mut self.phones[at];
                phone.copy_to(&folder)?;
                phone.backup = Some(Backup { folder, mark: phone.mark()?, token: phone.token.clone() });
                Ok(true)
            }
            Deed::Restore => self.restore(at, dice),
            Deed::Clone => self.clone_phone(at, dice),
            Deed::Replace => self.replace(at),
            Deed::ClockJump => {
                const HOUR: i64 = 3_600_000;
                let hours = [1, 30, 24 * 40, 24 * 400, 24 * 7000];
                let sign = if below(dice, 2) == 0 { 1 } else { -1 };
                let hours = pick(&hours, dice).unwrap_or(1);
                self.phones[at].script.set_wall_by(sign * hours * HOUR);
                Ok(true)
            }
            Deed::Reboot => {
                self.phones[at].close();
                self.phones[at].script.reboot();
                self.phones[at].open()?;
                Ok(true)
            }
            Deed::PhoneFull => {
                let pages: u32 =
                    self.phones[at].database()?.pragma_query_value(None, "page_count", |row| row.get(0))?;
                let phone = &mut self.phones[at];
                phone.handset()?.limit_pages(Some(pages))?;
                phone.full_for = u32::try_from(2 + below(dice, 6)).unwrap_or(2);
                Ok(true)
            }
            Deed::CopyStation | Deed::RestoreStation | Deed::StationFull => self.station_mishap(deed, dice),
            Deed::Revoke => {
                let device = self.phones[at].device();
                self.remember_sites(at)?;
                let done = self.station()?.store.revoke(device);
                self.station_did(done)
            }
            Deed::LoseToken => Ok(self.phones[at].token.take().is_some()),
            Deed::WrongToken => self.wrong_token(at, dice),
            Deed::Grant => {
                let rows = self.station()?.store.sites()?;
                let Some(site) = pick(&rows, dice).map(|row| row.site) else { return Ok(false) };
                self.open_site(at, site)
            }
            Deed::Newer | Deed::Garbled | Deed::Review => self.at_desk(deed, dice),
            Deed::HandOver | Deed::CutFile => self.hand_over(at, deed, dice),
            _ => self.person(at, deed, dice),
        }
    }

    /// The coordinator opens a site to a phone.
    pub(crate) fn open_site(&mut self, at: usize, site: survey::ids::SiteId) -> Result<bool, Trouble> {
        let device = self.phones[at].device();
        self.granted.entry(device).or_default().insert(site);
        let done = self.station()?.store.grant(device, site, UnixMs(0));
        self.station_did(done)
    }

    fn kill(&mut self, at: usize) -> Result<bool, Trouble> {
        let phone = &mut self.phones[at];
        let before = shown(phone)?;
        phone.close();
        phone.open()?;
        hold!(shown(phone)? == before, "after a kill the screen shows something else");
        Ok(true)
    }

    /// The app dies while a request is out. Its answer may come to the app that is started next.
    fn kill_in_job(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        let full_for = self.phones[at].full_for;
        let phone = &mut self.phones[at];
        let wanted = phone.handset()?.sync_wanted(Asker::Network, Metered::No).map(drop);
        if !room(wanted, full_for)? {
            return Ok(false);
        }
        let mut out = None;
        for _ in 0..=below(dice, 4) {
            let job = self.phones[at].handset()?.next_job();
            let Ok(Some(job)) = job else { break };
            let wire = self.wire_of(at, &job)?;
            let answer = Outcome::Answered(self.ask(wire)?);
            out = Some((job.id, answer.clone()));
            if below(dice, 2) == 0 {
                break;
            }
            let told = self.phones[at].handset()?.job_done(job.id, answer).map(drop);
            if !room(told, full_for)? {
                break;
            }
            out = None;
        }
        self.phones[at].read_on(&mut self.ledger)?;
        self.kill(at)?;
        if let Some((id, outcome)) = out.filter(|_| below(dice, 2) == 0) {
            let told = self.phones[at].handset()?.job_done(id, outcome).map(drop);
            room(told, 0)?;
        }
        Ok(true)
    }

    /// Power fails during an act that nobody saw done: it is there afterwards or not, and the mark lags or is torn.
    fn power_cut(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        self.made += 1;
        let before = self.folder.join(format!("cut-{}", self.made));
        let phone = &mut self.phones[at];
        let mark = phone.mark()?;
        phone.copy_to(&before)?;
        // Whatever the act came to, nobody was told.
        let _ = match below(dice, 3) {
            0 => phone.handset()?.empty_plant().map(drop),
            1 => phone.handset()?.take_back().map(drop),
            _ => phone.handset()?.count(handset::acts::Count::one(survey::stage::Stage::Egg)).map(drop),
        };
        phone.close();
        if below(dice, 2) == 0 {
            files::put_back(&before, &phone.folder)?;
        }
        match below(dice, 4) {
            0 => {}
            1 => phone.set_mark(None)?,
            _ => phone.set_mark(mark)?,
        }
        phone.script.reboot();
        phone.open()?;
        std::fs::remove_dir_all(&before)?;
        Ok(true)
    }

    fn restore(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        let phone = &mut self.phones[at];
        let Some(backup) = phone.backup.take() else { return Ok(false) };
        phone.close();
        files::put_back(&backup.folder, &phone.folder)?;
        match below(dice, 3) {
            0 => self.coverage.saw("restored, mark kept"),
            1 => {
                phone.set_mark(None)?;
                self.coverage.saw("restored, mark gone");
            }
            _ => {
                phone.set_mark(backup.mark)?;
                phone.token.clone_from(&backup.token);
                self.coverage.saw("restored, mark restored too");
            }
        }
        phone.forget_ends();
        phone.believes_old = true;
        phone.open()?;
        phone.backup = Some(backup);
        Ok(true)
    }

    fn clone_phone(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        if self.phones.len() >= MOST_PHONES {
            return Ok(false);
        }
        self.made += 1;
        let folder = self.folder.join(format!("phone-{}", self.made));
        let seed = self.seed.wrapping_mul(1000).wrapping_add(self.made);
        let phone = &self.phones[at];
        phone.copy_to(&folder)?;
        let mark = phone.mark()?.filter(|_| below(dice, 3) > 0);
        let name = if mark.is_some() { "cloned with the mark" } else { "cloned without the mark" };
        let mut clone = Phone::from_copy(folder, seed, mark, phone.token.clone())?;
        clone.believes_old = phone.believes_old;
        self.coverage.saw(name);
        self.phones.push(clone);
        Ok(true)
    }

    /// The phone is gone with all that was not sent; another takes its place and its person's sites.
    fn replace(&mut self, at: usize) -> Result<bool, Trouble> {
        self.remember_sites(at)?;
        let mut old = self.phones.swap_remove(at);
        old.close();
        std::fs::remove_dir_all(&old.folder)?;
        let place = self.buy_phone()?;
        self.phones.swap(at, place);
        let (of, by) = (old.device(), self.phones[at].device());
        let sites = self.granted.get(&of).cloned().unwrap_or_default();
        self.granted.entry(by).or_default().extend(sites);
        self.links.push((of, by));
        let done = self.station()?.store.link(of, by, UnixMs(0));
        self.station_did(done)?;
        Ok(true)
    }

    /// What the station has opened to a phone is opened again when it joins again.
    fn remember_sites(&mut self, at: usize) -> Result<(), Trouble> {
        let device = self.phones[at].device();
        let sites = self.station()?.store.memberships(device)?;
        self.granted.entry(device).or_default().extend(sites);
        Ok(())
    }

    /// A full station may refuse; an act of the coordinator is then not done.
    fn station_did(&mut self, done: Result<(), station::store::StoreError>) -> Result<bool, Trouble> {
        match done {
            Ok(()) => Ok(true),
            Err(_) if self.station_full_for > 0 => Ok(false),
            Err(error) => Err(error.into()),
        }
    }

    fn station_mishap(&mut self, deed: Deed, dice: &mut Dice) -> Result<bool, Trouble> {
        let (folder, copy) = (self.folder.join("station"), self.folder.join("station-copy"));
        match deed {
            Deed::CopyStation => {
                if copy.exists() {
                    std::fs::remove_dir_all(&copy)?;
                }
                files::copy(&folder, &copy)?;
                self.copied = Some(self.held()?);
                Ok(true)
            }
            Deed::RestoreStation => {
                let Some(copied) = self.copied.clone() else { return Ok(false) };
                self.station = None;
                files::put_back(&copy, &folder)?;
                self.station = Some(Station::open(&folder)?);
                self.station_full_for = 0;
                self.phones.iter_mut().for_each(|phone| phone.believes_old = true);
                self.promised = self.promised.intersection(&copied).copied().collect();
                Ok(true)
            }
            _ => {
                self.station()?.store.limit_pages(Some(1))?;
                self.station_full_for = u32::try_from(2 + below(dice, 8)).unwrap_or(2);
                Ok(true)
            }
        }
    }

    /// Every entry that the station holds.
    ///
    /// # Errors
    /// Where the store cannot.
    pub fn held(&mut self) -> Result<BTreeSet<Place>, Trouble> {
        let store = &self.station()?.store;
        let mut held = BTreeSet::new();
        for row in store.streams()? {
            let mut after = Head::START;
            loop {
                let page = store.kept(row.stream, after, 500)?;
                for kept in &page {
                    match kept {
                        station::store::journal::Kept::Entry(link) => {
                            after = link.head();
                            held.insert((row.stream, link.seq.0, link.hash));
                        }
                        station::store::journal::Kept::Hole { seq, hash, .. } => {
                            after = Head { seq: *seq, hash: *hash }
                        }
                    }
                }
                if page.len() < 500 {
                    break;
                }
            }
        }
        Ok(held)
    }

    /// Tokens that begin like a real one and end otherwise open nothing.
    fn wrong_token(&mut self, at: usize, dice: &mut Dice) -> Result<bool, Trouble> {
        let Some(token) = self.phones[at].token.clone() else { return Ok(false) };
        for _ in 0..8 {
            let tail = format!("{:016x}", dice.roll());
            let wrong = format!("{}{tail}", &token[..token.len() - tail.len()]);
            if wrong == token {
                continue;
            }
            let headers = vec![
                ("content-type".to_owned(), content::JSON.to_owned()),
                ("authorization".to_owned(), format!("Bearer {wrong}")),
            ];
            let body = json!({ "app": "0", "streams": [], "cursors": [] }).to_string().into_bytes();
            let answer = self.ask(Wire { method: "POST", path: paths::HELLO.into(), headers, body })?;
            hold!(answer.status == 401, "a token with a wrong tail got {}", answer.status);
        }
        Ok(true)
    }

    fn hand_over(&mut self, at: usize, deed: Deed, dice: &mut Dice) -> Result<bool, Trouble> {
        let file = self.folder.join("handed-over");
        let phone = &mut self.phones[at];
        let entries = phone.handset()?.export_to(&file)?.entries;
        let mut octets = std::fs::read(&file)?;
        if deed == Deed::CutFile {
            octets.truncate(usize::try_from(below(dice, octets.len() as u64)).unwrap_or(0));
        }
        let taken = station::command::take_in(self.station()?.store.as_ref(), &octets[..], UnixMs(0));
        let report = match taken {
            Ok(report) => report,
            Err(_) if self.station_full_for > 0 => return Ok(false),
            Err(error) => return Err(error.into()),
        };
        if deed == Deed::HandOver {
            hold!(report.problems.is_empty() && report.left_out == 0, "a whole export: {:?}", report.problems);
            hold!(report.entries == entries, "{} of {entries} entries were in the export", report.entries);
            for stream in self.phones[at].streams()? {
                let links = self.phones[at].links_after(stream, survey::chain::Seq(0))?;
                self.promised.extend(links.iter().map(|link| (stream, link.seq.0, link.hash)));
            }
        }
        Ok(true)
    }
}
