//! The end of a world: the network is good, everybody syncs until nothing moves, and then everything is held against
//! the book.

use crate::ledger::{Expected, Place, Tally};
use crate::rows;
use crate::step::below;
use crate::trouble::{Trouble, hold};
use crate::world::{Trip, World};
use station::judge::{Which, fold_site};
use station::store::journal::Standing;
use station::store::{AccessStore, BlobStore, JournalStore};
use std::collections::{BTreeMap, BTreeSet};
use survey::fold::Fold;
use survey::ids::SiteId;
use sync::engine::Dice;

/// The most rounds of everybody syncing: more means that something goes round and round.
const MOST_ROUNDS: u32 = 14;

/// What a world came to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ending {
    /// Entries at the station.
    pub held: usize,
    /// Acts that lay only on a phone, or a state of one, that is no more; each by kind and device.
    pub gone: Vec<String>,
    /// Animals counted.
    pub animals: u64,
}

impl World<'_> {
    /// Ends the world.
    ///
    /// # Errors
    /// Whatever does not hold.
    pub fn end(&mut self, dice: &mut Dice) -> Result<Ending, Trouble> {
        self.settle(dice)?;
        let held = self.held()?;
        let ending = self.check_presence(&held)?;
        let expected = self.ledger.expected(|place| held.contains(place));
        self.check_station(&expected)?;
        for at in 0..self.phones.len() {
            self.check_queue(at)?;
            self.check_phone(at, &expected, &held)?;
        }
        Ok(Ending { animals: expected.checks.values().flat_map(Tally::values).sum(), ..ending })
    }

    fn settle(&mut self, dice: &mut Dice) -> Result<(), Trouble> {
        self.station()?.store.limit_pages(None)?;
        self.station_full_for = 0;
        let open_all = below(dice, 3) > 0;
        for phone in &mut self.phones {
            phone.handset()?.limit_pages(None)?;
            phone.full_for = 0;
        }
        for (of, by) in self.links.clone() {
            self.station()?.link(of, by)?;
        }
        let mut before = None;
        for round in 0..MOST_ROUNDS {
            self.send_from_desk(dice)?;
            if round == 1 && open_all {
                self.open_all()?;
            }
            if round == 2 {
                self.update_apps()?;
            }
            for at in 0..self.phones.len() {
                for _ in 0..3 {
                    if self.needs_code(at)? {
                        self.remember(at)?;
                        self.invite(at, dice)?;
                    }
                    self.sync(at, Trip::GOOD, dice)?;
                    if !self.needs_code(at)? {
                        break;
                    }
                }
                self.phones[at].read_on(&mut self.ledger)?;
            }
            let now = self.signature()?;
            if round > 2 && before.as_ref() == Some(&now) {
                return Ok(());
            }
            before = Some(now);
        }
        Err(Trouble::new(format!("after {MOST_ROUNDS} rounds over a good network something still moves: {before:?}")))
    }

    fn remember(&mut self, at: usize) -> Result<(), Trouble> {
        let device = self.phones[at].device();
        let sites = self.station()?.store.memberships(device)?;
        self.granted.entry(device).or_default().extend(sites);
        Ok(())
    }

    /// The coordinator opens every site to every phone.
    fn open_all(&mut self) -> Result<(), Trouble> {
        let sites: Vec<SiteId> = self.station()?.store.sites()?.into_iter().map(|row| row.site).collect();
        for at in 0..self.phones.len() {
            let device = self.phones[at].device();
            for &site in &sites {
                self.station()?.grant(device, site)?;
                self.granted.entry(device).or_default().insert(site);
            }
        }
        Ok(())
    }

    /// Another version of the app offers what the station did not take before; what a version is called is all that
    /// is changed here.
    fn update_apps(&mut self) -> Result<(), Trouble> {
        for phone in &mut self.phones {
            let holes: u32 = phone.database()?.query_row("SELECT count(*) FROM hole", [], |row| row.get(0))?;
            if holes == 0 {
                continue;
            }
            phone.close();
            let database = rusqlite::Connection::open(phone.folder.join("journal.sqlite"))?;
            database.execute("UPDATE hole SET offered_by = 'an older version'", [])?;
            drop(database);
            phone.open()?;
            self.coverage.saw("holes offered again after an update");
        }
        Ok(())
    }

    /// What changes as long as something moves.
    fn signature(&mut self) -> Result<Vec<u64>, Trouble> {
        let rows = self.station()?.store.streams()?;
        let mut numbers = vec![rows.iter().map(|row| row.entries).sum(), rows.iter().map(|row| row.holes).sum()];
        for phone in &mut self.phones {
            let received: u64 = phone
                .database()?
                .query_row("SELECT count(*) FROM received", [], |row| row.get::<_, i64>(0))?
                .unsigned_abs();
            let status = phone.handset()?.sync_status()?;
            numbers.push(received);
            numbers.push(status.streams.iter().map(|stream| stream.waits + stream.holes).sum());
            numbers.push(status.photos.waiting + status.texts_waiting);
        }
        Ok(numbers)
    }

    /// Nothing is missing that must be there; what is gone is named.
    fn check_presence(&mut self, held: &BTreeSet<Place>) -> Result<Ending, Trouble> {
        let mut on_phones = BTreeSet::new();
        for phone in &self.phones {
            for stream in phone.streams()? {
                let links = phone.links_after(stream, survey::chain::Seq(0))?;
                on_phones.extend(links.iter().map(|link| (stream, link.seq.0, link.hash)));
            }
        }
        if let Some(place) = on_phones.difference(held).next() {
            let kind = self.ledger.lines.get(place).map(|line| line.kind.clone());
            return Err(Trouble::new(format!("{kind:?} at {place:?} is on a phone and not at the station")));
        }
        if let Some(place) = self.promised.difference(held).next() {
            let kind = self.ledger.lines.get(place).map(|line| line.kind.clone());
            return Err(Trouble::new(format!("{kind:?} at {place:?} was acknowledged and is not at the station")));
        }
        let desk = self.desk.device;
        let made = self.ledger.lines.iter().filter(|(place, _)| place.0.device != desk);
        let gone = made.filter(|(place, _)| !held.contains(*place));
        let gone: Vec<String> = gone.map(|(place, line)| format!("{} of {}", line.kind, place.0.device)).collect();
        if !gone.is_empty() {
            self.coverage.saw("acts that lay only on a phone that is no more, named");
        }
        if let Some(place) = held.iter().find(|place| !self.ledger.lines.contains_key(*place) && place.0.device != desk)
        {
            return Err(Trouble::new(format!("the station holds {place:?}, which nobody made")));
        }
        Ok(Ending { held: held.len(), gone, animals: 0 })
    }

    /// The station's chains verify, and its fold is what the book says.
    fn check_station(&mut self, expected: &Expected) -> Result<(), Trouble> {
        let store = std::sync::Arc::clone(&self.station()?.store);
        station::judge::bring_up_to_date(store.as_ref(), survey::time::UnixMs(0))?;
        let report = station::command::check(store.as_ref())?;
        hold!(report.problems.is_empty(), "the station's own check: {:?}", report.problems);
        let mut checks = BTreeMap::new();
        let mut whole = BTreeMap::new();
        let mut groups = BTreeSet::new();
        for site in store.sites()? {
            let fold = fold_site(store.as_ref(), site.site, Which::All)?;
            for visit in fold.visits(site.site) {
                let Some(state) = fold.visit(visit) else {
                    return Err(Trouble::new(format!("visit {visit} is listed and has no state")));
                };
                rows::tallies(&state, &mut checks);
                rows::wholes(&fold, &state, &mut whole);
                if state.members.len() > 1 {
                    groups.insert(state.members.iter().map(ToString::to_string).collect::<BTreeSet<_>>());
                }
            }
        }
        compare("a plant's tally at the station", &by_check(expected), &checks)?;
        compare("acts on visits at the station", &expected.whole, &whole)?;
        for group in &groups {
            hold!(
                expected.visit_groups.contains(group),
                "the station joined {group:?}, the book has {:?}",
                expected.visit_groups
            );
        }
        Ok(())
    }

    /// No queue is blocked, every branch is acknowledged, and what came with the entries came too.
    fn check_queue(&mut self, at: usize) -> Result<(), Trouble> {
        let twin = self.phones.iter().filter(|other| other.device() == self.phones[at].device()).count() > 1;
        let phone = &mut self.phones[at];
        let status = phone.handset()?.sync_status()?;
        for stream in &status.streams {
            let quiet = stream.waits == 0 && stream.holes == 0 && !stream.not_yours;
            hold!(quiet, "a queue is blocked: {stream:?}");
        }
        hold!(twin || status.joined, "a phone could not join");
        hold!(status.photos.waiting == 0, "{} photos wait", status.photos.waiting);
        let device = phone.device();
        let mut streams = phone.streams()?;
        let mut written = Vec::new();
        for stream in &streams {
            written.push(!phone.links_after(*stream, survey::chain::Seq(0))?.is_empty());
        }
        // Of a stream that was restored to before its first entry the phone knows nothing: a coordinator confirms it.
        let mut written = written.into_iter();
        streams.retain(|_| written.next() == Some(true));
        let mut statement =
            phone.database()?.prepare_cached("SELECT hash, text, sent FROM text WHERE entry_seq IS NOT NULL")?;
        let rows = statement.query_map([], |row| {
            Ok((survey::chain::Hash(row.get(0)?), row.get::<_, String>(1)?, row.get::<_, bool>(2)?))
        })?;
        let texts = rows.collect::<Result<Vec<_>, _>>()?;
        drop(statement);
        let store = std::sync::Arc::clone(&self.station()?.store);
        for (hash, words, sent) in texts {
            let there = match store.text_for(device, hash)? {
                Some(station::store::blobs::TextRow::Text { text, .. }) => text == words && sent,
                // A twin may have erased it.
                Some(station::store::blobs::TextRow::Erased) => true,
                None => false,
            };
            hold!(there, "the text of note {hash} is not at the station");
        }
        for row in store.streams()?.into_iter().filter(|row| streams.contains(&row.stream)) {
            hold!(row.standing == Standing::Verified, "{:?} of a phone that joined is not verified", row.stream);
        }
        Ok(())
    }

    /// The phone shows what the station shows, of all sites that it reads.
    fn check_phone(&mut self, at: usize, expected: &Expected, held: &BTreeSet<Place>) -> Result<(), Trouble> {
        let store = std::sync::Arc::clone(&self.station()?.store);
        let device = self.phones[at].device();
        let received = self.phones[at].received()?;
        let mut own = Vec::new();
        for stream in self.phones[at].streams()? {
            own.extend(self.phones[at].links_after(stream, survey::chain::Seq(0))?);
        }
        let here: BTreeSet<Place> =
            own.iter().chain(&received).map(|link| (link.stream, link.seq.0, link.hash)).collect();
        let mut fold = Fold::new();
        let members = store.memberships(device)?;
        for &site in &members {
            for fed in store.feed_from(site, 0, usize::MAX)? {
                let place = (fed.link.stream, fed.link.seq.0, fed.link.hash);
                hold!(here.contains(&place), "the feed of {site} has {place:?}, a phone that reads it has not");
                fold.insert(&fed.link).map_err(|error| Trouble::new(format!("a fed entry: {error}")))?;
            }
        }
        let mut elsewhere = 0;
        for link in own.iter().chain(&received) {
            elsewhere += usize::from(!held.contains(&(link.stream, link.seq.0, link.hash)));
            fold.insert(link).map_err(|error| Trouble::new(format!("an entry on a phone: {error}")))?;
        }
        let phone = &mut self.phones[at];
        let (due, found) = (rows::of(&fold)?, phone.handset()?.state_rows()?.into_iter().collect::<BTreeSet<_>>());
        if let Some(row) = due.difference(&found).next() {
            let key: String = row.split('|').take(3).collect::<Vec<_>>().join("|");
            let other = found.iter().find(|other| other.starts_with(&key));
            return Err(Trouble::new(format!("a phone's tables lack {row}, they have {other:?}")));
        }
        if let Some(row) = found.difference(&due).next() {
            return Err(Trouble::new(format!("a phone's tables have {row}, which nothing gives")));
        }
        if elsewhere > 0 {
            // Entries of a phone that is gone, which a station put back has lost: this phone alone has them.
            self.coverage.saw("entries that another phone alone still has");
            return Ok(());
        }
        let mut shown = BTreeMap::new();
        for &site in &members {
            let station = fold_site(store.as_ref(), site, Which::All)?;
            for group in fold.visits_at(site).into_iter().filter_map(|visit| fold.visit_group(visit).first().copied()) {
                let view = self.phones[at].handset()?.visit_of(group)?;
                for plant in view.plants {
                    let numbers: u64 = plant.living.values().sum();
                    shown.insert((group.to_string(), plant.check.to_string()), numbers + plant.not_living);
                }
            }
            if fold.site_group(site).len() > 1 {
                continue;
            }
            let (one, other) = (serde_json::to_string(&fold.site(site)), serde_json::to_string(&station.site(site)));
            let (Ok(one), Ok(other)) = (one, other) else { return Err(Trouble::new("a state without JSON")) };
            hold!(one == other, "site {site} on a phone: {one}; at the station: {other}");
            for visit in station.visits(site) {
                hold!(fold.visit(visit) == station.visit(visit), "visit {visit} differs between phone and station");
            }
        }
        for (check, tally) in by_check(expected) {
            let (due, seen) = (tally.values().sum::<u64>(), shown.get(&check).copied());
            let right = seen.is_none_or(|seen| seen == due);
            hold!(right, "plant {check:?} is shown with {seen:?} on a phone, the book has {tally:?}");
        }
        Ok(())
    }
}

/// Tallies by the group of visits and the plant: acts on one plant may name several visits that were joined.
fn by_check(expected: &Expected) -> BTreeMap<(String, String), Tally> {
    let mut tallies: BTreeMap<(String, String), Tally> = BTreeMap::new();
    for ((visit, check), tally) in &expected.checks {
        let group = expected.visit_groups.iter().find(|group| group.contains(visit)).and_then(|group| group.first());
        let sum = tallies.entry((group.unwrap_or(visit).clone(), check.clone())).or_default();
        for (row, number) in tally {
            *sum.entry(row.clone()).or_default() += number;
        }
    }
    tallies
}

fn compare<K: Ord + std::fmt::Debug, V: PartialEq + std::fmt::Debug>(
    what: &str,
    due: &BTreeMap<K, V>,
    found: &BTreeMap<K, V>,
) -> Result<(), Trouble> {
    for key in due.keys().chain(found.keys()) {
        let (one, other) = (due.get(key), found.get(key));
        hold!(one == other, "{what}: {key:?} should be {one:?}, is {other:?}");
    }
    Ok(())
}
