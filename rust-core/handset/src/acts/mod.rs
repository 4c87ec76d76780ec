//! What a person can do. Each act is one durable transaction: its entries, and the state rows that changed. An act
//! that is refused changes nothing.

mod correct;
mod count;
mod input;
mod key;
mod measure;
mod picture;
mod place;
mod plant;
mod practice;
mod settings;
mod site;
mod typed;
mod visit;
mod words;

pub use count::Count;
pub(crate) use input::name as code;
#[cfg(test)]
pub(crate) use input::protocol as checked_protocol;
pub(crate) use key::KEY;
pub use key::{BeginKey, KeyCount, KeyReply};
pub(crate) use measure::measurable;
pub use measure::{Against, Measuring};
pub use place::{
    Fix, FoundPlace, FoundPlaces, area_of_edge, pin_of_fixes, place_of_text, places_of_file, text_of_place,
};
pub(crate) use plant::the_check;
pub use plant::{OpenPlant, Screen};
pub use settings::{Hand, Settings, Switch, Theme, Units};
pub use typed::{typed_count, typed_number};
pub use visit::BeginVisit;

use crate::error::{Error, Kind, Why};
use crate::journal::{files, rows};
use crate::object::{Handset, IN_HAND, set};
use crate::state::group::Group;
use crate::state::memory::{Memory, Origin};
use crate::surroundings::Mark;
use rusqlite::{Connection, DropBehavior, TransactionBehavior, params};
use survey::chain::{Hash, Link};
use survey::defect::{Defect, planted};
use survey::entry::{Act, ClockNoted, Entry, Scope};
use survey::ids::{EntryId, PhotoId, SiteId, VisitId};
use survey::time::{HybridClock, HybridTime, Now};

/// The highest hybrid time that was received and merged.
pub(crate) const HYBRID: &str = "hybrid-merged";

/// A wall clock that moves by more than this against the time since boot was set: 60 s, as the survey's finding has it.
const JUMP_MS: i64 = 60_000;

/// What one act is to write.
#[derive(Debug, Default)]
pub(crate) struct Plan {
    acts: Vec<Planned>,
    beside: Vec<Beside>,
}

#[derive(Debug)]
struct Planned {
    id: Option<EntryId>,
    scope: Scope,
    replaces: Vec<EntryId>,
    act: Act,
}

/// What is written beside entries, in the same transaction.
#[derive(Debug)]
pub(crate) enum Beside {
    /// This visit is in hand.
    InHand(VisitId),
    /// The text of a note.
    Text { hash: Hash, salt: [u8; 16], text: String },
    /// The place of a photo.
    Photo { photo: PhotoId, hash: Hash, salt: [u8; 16], length: u64, name: String },
    /// A text and its salt go.
    EraseText(Hash),
    /// A photo's file is gone.
    PhotoGone(PhotoId),
    /// The session of the stage key came to a count.
    KeyDone,
}

impl Plan {
    pub(crate) fn one(scope: Scope, act: Act) -> Self {
        Self::default().and(scope, act)
    }

    pub(crate) fn and(self, scope: Scope, act: Act) -> Self {
        self.and_replacing(scope, act, Vec::new())
    }

    pub(crate) fn and_replacing(mut self, scope: Scope, act: Act, replaces: Vec<EntryId>) -> Self {
        self.acts.push(Planned { id: None, scope, replaces, act });
        self
    }

    /// Gives the entry added last this id.
    pub(crate) fn with_id(mut self, id: EntryId) -> Self {
        if let Some(last) = self.acts.last_mut() {
            last.id = Some(id);
        }
        self
    }

    pub(crate) fn beside(mut self, beside: Beside) -> Self {
        self.beside.push(beside);
        self
    }
}

impl Handset {
    /// Writes an act: durable when this returns.
    pub(crate) fn commit(&mut self, plan: &Plan) -> Result<(), Error> {
        let now = self.around.clock.now();
        let mut clock = self.clock;
        let made = self.make(&plan.acts, now, &mut clock)?;
        let head = made.last().map_or(self.stream.head, |(link, _)| link.head());
        match self.write(made, &plan.beside, now) {
            Ok(()) => {
                self.clock = clock;
                self.stream.head = head;
                self.last = Some(now);
                // A mark that stays behind is harmless: it only guards less well until the next one is written.
                let _ = self.around.marker.write(Mark { epoch: self.stream.id.epoch, seq: head.seq });
                Ok(())
            }
            Err(error) => {
                self.note_damage(&error);
                self.reload()?;
                Err(error)
            }
        }
    }

    /// Damage that shows in an act is noted, so that the next opening sets the database aside.
    pub(crate) fn note_damage(&self, error: &Error) {
        if error.kind() == Kind::Damaged {
            files::note_damage(&*self.around.disk.files, &self.folder);
        }
    }

    /// A random id for an entry, ordered by time.
    pub(crate) fn draw<T>(&mut self, make: impl FnOnce(i64, [u8; 16]) -> T) -> T {
        let octets = self.around.random.octets();
        make(self.around.clock.now().wall.0, octets)
    }

    /// The visit in hand, with this device's part of it.
    pub(crate) fn in_hand(&self) -> Result<InHand<'_>, Error> {
        let group = self.hand().ok_or_else(|| Error::refused(Why::NoVisit, "no visit is in hand"))?;
        let state = group.state.as_ref().ok_or_else(|| Error::refused(Why::NoVisit, "no visit is in hand"))?;
        let visit = crate::state::memory::own_part(state, self.device).unwrap_or(state.id);
        let part = state.parts.iter().find(|part| part.visit == visit && part.device == self.device);
        let site = group.site_of(visit).unwrap_or(state.site);
        Ok(InHand { group, visit, site, going_on: part.is_some_and(|part| part.ended.is_none()) })
    }

    fn make(&mut self, acts: &[Planned], now: Now, clock: &mut HybridClock) -> Result<Vec<(Link, Entry)>, Error> {
        let jumped = self.last.and_then(|last| jump(last, now)).map(|jumped_ms| Planned {
            id: None,
            scope: Scope::Device,
            replaces: Vec::new(),
            act: Act::ClockNoted(ClockNoted { jumped_ms }),
        });
        let mut head = self.stream.head;
        let mut made = Vec::with_capacity(acts.len() + 1);
        for planned in jumped.iter().chain(acts) {
            let entry = Entry {
                id: planned.id.unwrap_or_else(|| EntryId::timed(now.wall.0, self.around.random.octets())),
                hybrid: clock.tick(now.wall),
                wall: now.wall,
                offset: now.offset,
                since_boot: now.since_boot,
                scope: planned.scope,
                replaces: planned.replaces.clone(),
                act: planned.act.clone(),
            };
            let link = head.extend(self.stream.id, entry.encode()?);
            head = link.head();
            made.push((link, entry));
        }
        Ok(made)
    }

    fn write(&mut self, made: Vec<(Link, Entry)>, beside: &[Beside], now: Now) -> Result<(), Error> {
        let stream = self.stream.row;
        if planted(Defect::DoneBeforeCommit) && !self.db.is_autocommit() {
            self.db.execute_batch("COMMIT")?;
        }
        let mut transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let own = |entry: &Entry| entry.scope != Scope::Device;
        let first = made.iter().find(|(_, entry)| own(entry)).map(|(link, _)| rows::number(link.seq));
        let last = made.iter().rev().find(|(_, entry)| own(entry)).map(|(link, _)| rows::number(link.seq));
        for beside in beside {
            write_beside(&transaction, beside, stream, last, now)?;
        }
        if let (Some(first), Some(last)) = (first, last)
            && first < last
        {
            transaction
                .prepare_cached("INSERT INTO act_span (stream, last, first) VALUES (?1, ?2, ?3)")?
                .execute(params![stream, last, first])?;
        }
        append_and_fold(&transaction, &mut self.memory, made, Origin::Made, |db, link, entry| {
            rows::append(db, stream, link, entry.scope)
        })?;
        for beside in beside {
            if let Beside::InHand(visit) = beside {
                self.memory.take_in_hand(&transaction, *visit)?;
            }
        }
        if planted(Defect::DoneBeforeCommit) {
            transaction.set_drop_behavior(DropBehavior::Ignore);
            return Ok(());
        }
        Ok(transaction.commit()?)
    }
}

/// The visit in hand.
pub(crate) struct InHand<'a> {
    /// Its entries and state.
    pub(crate) group: &'a Group,
    /// The id under which this device counts.
    pub(crate) visit: VisitId,
    /// The site that scope names with it.
    pub(crate) site: SiteId,
    /// Whether this device's part has not ended.
    pub(crate) going_on: bool,
}

impl InHand<'_> {
    pub(crate) const fn scope(&self) -> Scope {
        Scope::Visit(self.site, self.visit)
    }

    /// Refuses what may only be done before the end.
    pub(crate) fn before_end(self) -> Result<Self, Error> {
        if self.going_on { Ok(self) } else { Err(Error::refused(Why::VisitEnded, self.visit)) }
    }
}

/// Stores links and folds them in, run by run of one scope, so that each visit is in memory before its links are
/// stored.
pub(crate) fn append_and_fold(
    db: &Connection,
    memory: &mut Memory,
    links: Vec<(Link, Entry)>,
    origin: Origin,
    append: impl Fn(&Connection, &Link, &Entry) -> Result<(), Error>,
) -> Result<(), Error> {
    let mut run: Vec<(Link, Entry)> = Vec::new();
    for (link, entry) in links {
        if run.last().is_some_and(|(_, before)| before.scope != entry.scope) {
            memory.fold(db, std::mem::take(&mut run), origin)?;
        }
        if run.is_empty()
            && let Some(visit) = entry.scope.visit()
        {
            memory.group(db, visit)?;
        }
        append(db, &link, &entry)?;
        run.push((link, entry));
    }
    memory.fold(db, run, origin)
}

/// The highest hybrid time merged so far is kept, so that acts after a restart still come later.
pub(crate) fn keep_merged(db: &Connection, merged: HybridTime) -> Result<(), Error> {
    set(db, HYBRID, serde_json::to_string(&merged)?)
}

fn jump(last: Now, now: Now) -> Option<i64> {
    if last.since_boot.boot != now.since_boot.boot {
        return None;
    }
    let passed = i64::try_from(now.since_boot.ms).ok()?.checked_sub(i64::try_from(last.since_boot.ms).ok()?)?;
    let jumped = now.wall.0.saturating_sub(last.wall.0).saturating_sub(passed);
    (jumped.saturating_abs() > JUMP_MS).then_some(jumped)
}

fn write_beside(db: &Connection, beside: &Beside, stream: i64, entry: Option<i64>, now: Now) -> Result<(), Error> {
    match beside {
        Beside::InHand(visit) => set(db, IN_HAND, visit.octets())?,
        Beside::Text { hash, salt, text } => {
            db.prepare_cached("INSERT INTO text (hash, salt, text, stream, entry_seq) VALUES (?1, ?2, ?3, ?4, ?5)")?
                .execute(params![hash.0, salt, text, stream, entry])?;
        }
        Beside::Photo { photo, hash, salt, length, name } => {
            db.prepare_cached(
                "INSERT INTO photo (photo, stream, seq, hash, salt, length, name, taken_ms) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            )?
            .execute(params![
                photo.octets(),
                stream,
                entry,
                hash.0,
                salt,
                i64::try_from(*length).unwrap_or(i64::MAX),
                name,
                now.wall.0
            ])?;
        }
        Beside::EraseText(hash) => {
            db.prepare_cached("DELETE FROM text WHERE hash = ?1")?.execute([hash.0])?;
        }
        Beside::KeyDone => key::end(db)?,
        Beside::PhotoGone(photo) => {
            db.prepare_cached("UPDATE photo SET name = NULL WHERE photo = ?1")?.execute([photo.octets()])?;
        }
    }
    Ok(())
}

/// Octets in lower-case hexadecimal digits.
pub(crate) fn hex(octets: &[u8]) -> String {
    use std::fmt::Write;
    octets.iter().fold(String::with_capacity(2 * octets.len()), |mut text, octet| {
        // Writing into a text cannot fail.
        let _ = write!(text, "{octet:02x}");
        text
    })
}
