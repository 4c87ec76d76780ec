//! Files to hand over: read as a stream, and taken in by a real store.

use crate::batches::{named, sound};
use crate::damage::{Damage, damaged, described};
use crate::story::{START, Story, stream};
use arbitrary::Arbitrary;
use station::command::take_in;
use station::store::JournalStore;
use station::store::journal::Kept;
use station::store::sqlite::SqliteStore;
use survey::chain::{Head, Link, StreamId};
use survey::time::UnixMs;
use sync::framing::{Cut, FileReader, FileWriter};
use sync::wire::push::HoleReason;

#[derive(Debug, Arbitrary)]
struct Input {
    story: Story,
    per_block: u8,
    hole_after: Option<u8>,
    damages: Vec<Damage>,
    take_in: bool,
}

/// Octets that begin like gzip are read as a file, others as a description of one.
pub fn hold(octets: &[u8]) {
    if octets.starts_with(&[0x1F, 0x8B]) {
        let (links, _, _) = read(octets);
        taken_in(octets, links.len());
    } else if let Some(input) = described::<Input>(octets) {
        described_file(&input);
    }
}

/// What is whole comes back as it was; what was harmed comes back up to the harm, and nothing altered with it.
fn described_file(input: &Input) {
    let told: Vec<Link> = input.story.told().into_iter().map(|told| told.link).collect();
    let (file, written) = written(&told, input);
    let (links, holes, cut) = read(&file);
    assert_eq!((&links, cut), (&written, None));
    let harmed = damaged(&file, &input.damages);
    let (kept, _, cut) = read(&harmed);
    let prefix = kept.len() <= written.len() && kept == written[..kept.len()];
    assert!(prefix, "what is kept of a harmed file is its beginning");
    assert!(cut.is_some() || kept.len() == written.len(), "a loss is told");
    if input.take_in {
        taken_in(&harmed, kept.len());
        if kept.len() < written.len() || holes > 0 {
            taken_in(&file, written.len());
        }
    }
}

fn written(told: &[Link], input: &Input) -> (Vec<u8>, Vec<Link>) {
    let mut file = FileWriter::new(Vec::new());
    let mut written = Vec::new();
    for phone in 0..4 {
        let own: Vec<Link> = told.iter().filter(|link| link.stream == stream(phone)).cloned().collect();
        for block in own.chunks(usize::from(input.per_block % 16) + 1) {
            let count = file.write(block).expect("memory takes octets");
            written.extend_from_slice(&block[..count]);
            if count < block.len() {
                break;
            }
        }
    }
    if let (Some(octet), Some(last)) = (input.hole_after, written.last()) {
        let (before, of) = (last.head(), last.stream);
        let after = before.extend(of, vec![octet]).head();
        file.write_hole(of, before, after, HoleReason::Damaged).expect("memory takes octets");
    }
    (file.finish().expect("memory takes octets"), written)
}

/// The entries and the number of holes of a file, and why reading ended early.
fn read(file: &[u8]) -> (Vec<Link>, usize, Option<Cut>) {
    let (mut links, mut holes) = (Vec::new(), 0);
    let mut reader = FileReader::new(file);
    while let Some(step) = reader.next() {
        match step {
            Ok(batch) => {
                sound(&batch);
                holes += usize::from(batch.links.is_empty());
                links.extend(batch.links);
                assert_eq!(reader.kept(), links.len() as u64);
            }
            Err(cut) => {
                named(&cut.cause);
                assert_eq!(cut.kept, links.len() as u64);
                assert!(reader.next().is_none(), "an error is the last that comes");
                return (links, holes, Some(cut));
            }
        }
    }
    (links, holes, None)
}

/// A store takes in what was read, once; a second time adds nothing, and every chain holds.
fn taken_in(file: &[u8], entries: usize) {
    let folder = tempfile::tempdir().expect("a folder for one store");
    let store = SqliteStore::open(&folder.path().join("station.sqlite")).expect("a fresh store opens");
    let first = take_in(&store, file, UnixMs(START)).expect("a file never harms a store");
    assert_eq!(first.entries, entries as u64);
    assert!(first.problems.iter().all(|problem| problem.len() < 2_000));
    let again = take_in(&store, file, UnixMs(START + 1)).expect("a file never harms a store");
    assert_eq!((again.entries, again.added), (first.entries, 0), "the same file twice adds nothing");
    let streams: Vec<StreamId> = store.streams().expect("the store reads").into_iter().map(|row| row.stream).collect();
    let kept: u64 = streams.into_iter().map(|stream| chained(&store, stream)).sum();
    assert_eq!(kept, first.added, "what was added is held");
    station::judge::bring_up_to_date(&store, UnixMs(START)).expect("whatever is held can be judged");
}

/// How many items a store holds of a stream, each with the hash that its octets and place give.
fn chained(store: &SqliteStore, stream: StreamId) -> u64 {
    let kept = store.kept(stream, Head::START, 10_000).expect("the store reads");
    for item in &kept {
        if let Kept::Entry(link) = item {
            link.verify().expect("what is held is unaltered");
        }
    }
    kept.len() as u64
}
