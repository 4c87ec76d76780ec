//! What a disk holds after a power cut, by the promises of POSIX and no more.
//!
//! - A file's sync (`fsync`, `fdatasync`) makes its content and length last, and nothing of its name.
//! - A folder's sync makes the names in it last; the folder's own name lasts after a sync of the folder around it.
//! - Of everything since, any part may have reached the disk: every write or none, those until some instant, any
//!   subset, any of the sectors of 512 octets that a write touches; a length without its content, which then reads as
//!   zeros or as whatever lay there; names that are missing, removals and renames that are undone.
//! - A rename is whole: within a folder the file has one of the two names. Between two folders both names change
//!   together as long as neither folder was synced; a sync of one makes that one's part last alone.
//! - A sector is written whole or not at all, and a write does not touch the sectors beside it.

use crate::dice::Dice;
use crate::log::{Change, Node, Place};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Octets that a disk writes whole or not at all.
const SECTOR: usize = 512;

/// The disk at an instant: what lasts, and what was changed since.
#[derive(Debug, Default)]
pub struct Disk<'a> {
    files: BTreeMap<Node, File<'a>>,
    folders: BTreeMap<Node, Folder<'a>>,
    instant: usize,
}

/// What a power cut leaves.
#[derive(Debug, Default)]
pub struct Image {
    folders: Vec<PathBuf>,
    files: Vec<(PathBuf, Vec<u8>)>,
}

/// What becomes of the changes that nothing has made last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// All of them reached the disk.
    Kept,
    /// None did.
    Dropped,
    /// Those until an instant did.
    Until(usize),
    /// Any of them did.
    Any,
    /// Any sector of any of them did.
    Torn,
    /// Each file and folder has a fate of its own.
    Mixed,
}

#[derive(Debug, Default)]
struct File<'a> {
    lasting: Vec<u8>,
    since: Vec<(usize, Piece<'a>)>,
}

#[derive(Debug, Clone, Copy)]
enum Piece<'a> {
    Write(usize, &'a [u8]),
    Size(usize),
}

#[derive(Debug, Default)]
struct Folder<'a> {
    lasting: BTreeMap<&'a str, Node>,
    since: Vec<Renaming<'a>>,
}

/// A change of names. Halves of a rename between two folders share their instant.
#[derive(Debug, Clone, Copy)]
struct Renaming<'a> {
    instant: usize,
    gone: Option<&'a str>,
    come: Option<(&'a str, Node)>,
}

impl<'a> Disk<'a> {
    /// An empty folder that lasts.
    pub fn new() -> Self {
        Self { folders: BTreeMap::from([(Node::ROOT, Folder::default())]), ..Self::default() }
    }

    /// One change more.
    pub fn apply(&mut self, change: &'a Change) {
        self.instant += 1;
        let instant = self.instant;
        match change {
            Change::File { node, at } => {
                self.files.insert(*node, File::default());
                self.name(at, *node);
            }
            Change::Folder { node, at } => {
                self.folders.insert(*node, Folder::default());
                self.name(at, *node);
            }
            Change::Write { node, offset, octets } => self.change_file(*node, Piece::Write(*offset, octets)),
            Change::Size { node, size } => self.change_file(*node, Piece::Size(*size)),
            Change::Sync { node } => {
                if let Some(file) = self.files.get_mut(node) {
                    file.lasting = file.content(&mut |_, _| Keep::Whole);
                    file.since.clear();
                } else if let Some(folder) = self.folders.get_mut(node) {
                    folder.lasting = folder.names(&mut |_| true);
                    folder.since.clear();
                }
            }
            Change::Rename { from, to } => {
                let Some(&node) = self.now(from.folder).get(from.name.as_str()) else { return };
                let (gone, come) = (Some(from.name.as_str()), Some((to.name.as_str(), node)));
                if from.folder == to.folder {
                    self.change_folder(from.folder, Renaming { instant, gone, come });
                } else {
                    self.change_folder(from.folder, Renaming { instant, gone, come: None });
                    self.change_folder(to.folder, Renaming { instant, gone: None, come });
                }
            }
            Change::Remove { at } => {
                self.change_folder(at.folder, Renaming { instant, gone: Some(&at.name), come: None });
            }
            Change::Told(_) => {}
        }
    }

    /// Whether a power cut could leave more than one image.
    pub fn is_settled(&self) -> bool {
        self.files.values().all(|file| file.since.is_empty())
            && self.folders.values().all(|folder| folder.since.is_empty())
    }

    /// What a power cut leaves at this instant, told by the dice.
    pub fn image(&self, fate: Fate, dice: &mut Dice) -> Image {
        let mut image = Image::default();
        let mut renamed = BTreeMap::new();
        self.lay(Node::ROOT, Path::new(""), fate, &mut renamed, dice, &mut image);
        image
    }

    /// A fate, told by the dice.
    pub fn fate(&self, dice: &mut Dice) -> Fate {
        match dice.below(12) {
            0 => Fate::Kept,
            1 | 2 => Fate::Dropped,
            3..=5 => Fate::Until(self.instant.saturating_sub(dice.below(40))),
            6 | 7 => Fate::Any,
            8 | 9 => Fate::Torn,
            _ => Fate::Mixed,
        }
    }

    fn lay(
        &self,
        folder: Node,
        path: &Path,
        fate: Fate,
        renamed: &mut BTreeMap<usize, bool>,
        dice: &mut Dice,
        image: &mut Image,
    ) {
        let own = own_fate(fate, self.instant, dice);
        let names = self.folders[&folder].names(&mut |instant| {
            *renamed.entry(instant).or_insert_with(|| match own {
                Fate::Kept => true,
                Fate::Dropped => false,
                Fate::Until(end) => instant <= end,
                Fate::Any | Fate::Torn | Fate::Mixed => dice.once_in(2),
            })
        });
        for (name, node) in names {
            let path = path.join(name);
            if let Some(file) = self.files.get(&node) {
                let own = own_fate(fate, self.instant, dice);
                image.files.push((path, file.after(own, dice)));
            } else {
                image.folders.push(path.clone());
                self.lay(node, &path, fate, renamed, dice, image);
            }
        }
    }

    fn name(&mut self, at: &'a Place, node: Node) {
        let come = Some((at.name.as_str(), node));
        self.change_folder(at.folder, Renaming { instant: self.instant, gone: None, come });
    }

    fn change_file(&mut self, node: Node, piece: Piece<'a>) {
        let instant = self.instant;
        if let Some(file) = self.files.get_mut(&node) {
            file.since.push((instant, piece));
        }
    }

    fn change_folder(&mut self, node: Node, renaming: Renaming<'a>) {
        if let Some(folder) = self.folders.get_mut(&node) {
            folder.since.push(renaming);
        }
    }

    fn now(&self, folder: Node) -> BTreeMap<&'a str, Node> {
        self.folders.get(&folder).map(|folder| folder.names(&mut |_| true)).unwrap_or_default()
    }
}

impl Image {
    /// Every file with its path below the root.
    pub fn files(&self) -> impl Iterator<Item = (&Path, &[u8])> {
        self.files.iter().map(|(path, content)| (path.as_path(), content.as_slice()))
    }

    /// Writes the image below a folder that is there and empty.
    ///
    /// # Errors
    /// Those of the system.
    pub fn write(&self, root: &Path) -> std::io::Result<()> {
        for folder in &self.folders {
            std::fs::create_dir_all(root.join(folder))?;
        }
        self.files.iter().try_for_each(|(path, octets)| std::fs::write(root.join(path), octets))
    }

    /// Puts what no start of SQLite may trust beside every log: shared memory left by the time before.
    #[must_use]
    pub fn with_stale_shared_memory(mut self, dice: &mut Dice) -> Self {
        let logs: Vec<_> = self.files.iter().filter_map(|(path, _)| path.to_str()?.strip_suffix("-wal")).collect();
        let stale: Vec<_> =
            logs.into_iter().map(|name| (PathBuf::from(format!("{name}-shm")), dice.octets(32 * 1024))).collect();
        self.files.extend(stale);
        self
    }
}

/// How much of a write reached the disk.
enum Keep {
    Whole,
    Nothing,
    Sectors,
}

impl File<'_> {
    fn after(&self, fate: Fate, dice: &mut Dice) -> Vec<u8> {
        if self.since.is_empty() {
            return self.lasting.clone();
        }
        let mut content = match fate {
            Fate::Kept => self.content(&mut |_, _| Keep::Whole),
            Fate::Dropped => self.lasting.clone(),
            Fate::Until(end) => {
                self.content(&mut |instant, _| if instant <= end { Keep::Whole } else { Keep::Nothing })
            }
            Fate::Any | Fate::Mixed => {
                self.content(&mut |_, _| if dice.once_in(2) { Keep::Whole } else { Keep::Nothing })
            }
            Fate::Torn => {
                let mut sectors = dice.clone();
                let mut torn = |_, sector: Option<usize>| match sector {
                    None => Keep::Sectors,
                    Some(_) if sectors.once_in(2) => Keep::Whole,
                    Some(_) => Keep::Nothing,
                };
                let content = self.content(&mut torn);
                *dice = sectors;
                content
            }
        };
        // The length may be on the disk before the content is.
        let longest = self.content(&mut |_, _| Keep::Whole).len();
        if fate != Fate::Dropped && content.len() < longest && dice.once_in(4) {
            let lacking = longest - content.len();
            content.extend(if dice.once_in(2) { dice.octets(lacking) } else { vec![0; lacking] });
        }
        content
    }

    /// The content with those pieces since the last sync that `keep` keeps: it is asked for each piece, and where it
    /// answers `Sectors` for each sector of it.
    fn content(&self, keep: &mut dyn FnMut(usize, Option<usize>) -> Keep) -> Vec<u8> {
        let mut content = self.lasting.clone();
        for &(instant, piece) in &self.since {
            match (piece, keep(instant, None)) {
                (_, Keep::Nothing) => {}
                (Piece::Size(size), _) => content.resize(size, 0),
                (Piece::Write(offset, octets), Keep::Whole) => put(&mut content, offset, octets),
                (Piece::Write(offset, octets), Keep::Sectors) => {
                    let mut at = 0;
                    while at < octets.len() {
                        let sector = (offset + at) / SECTOR;
                        let end = ((sector + 1) * SECTOR - offset).min(octets.len());
                        if matches!(keep(instant, Some(sector)), Keep::Whole) {
                            put(&mut content, offset + at, &octets[at..end]);
                        }
                        at = end;
                    }
                }
            }
        }
        content
    }
}

impl<'a> Folder<'a> {
    fn names(&self, keep: &mut dyn FnMut(usize) -> bool) -> BTreeMap<&'a str, Node> {
        let mut names = self.lasting.clone();
        for renaming in &self.since {
            if !keep(renaming.instant) {
                continue;
            }
            if let Some(gone) = renaming.gone {
                names.remove(gone);
            }
            if let Some((name, node)) = renaming.come {
                names.insert(name, node);
            }
        }
        names
    }
}

/// A fate of its own for one file or folder, where fates are mixed.
fn own_fate(fate: Fate, instant: usize, dice: &mut Dice) -> Fate {
    match fate {
        Fate::Mixed => match dice.below(5) {
            0 => Fate::Kept,
            1 => Fate::Dropped,
            2 => Fate::Until(instant.saturating_sub(dice.below(40))),
            3 => Fate::Any,
            _ => Fate::Torn,
        },
        whole => whole,
    }
}

fn put(content: &mut Vec<u8>, offset: usize, octets: &[u8]) {
    let end = offset + octets.len();
    if content.len() < end {
        content.resize(end, 0);
    }
    content[offset..end].copy_from_slice(octets);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::Log;
    use std::collections::BTreeSet;

    const FATES: [Fate; 5] = [Fate::Kept, Fate::Dropped, Fate::Any, Fate::Torn, Fate::Mixed];

    /// All images that a thousand throws find, as their files by name.
    fn images(log: &Log) -> BTreeSet<Vec<(PathBuf, Vec<u8>)>> {
        let changes = log.changes();
        let mut disk = Disk::new();
        for change in &changes {
            disk.apply(change);
        }
        let mut dice = Dice::new(1, 0);
        (0..1000).map(|at| disk.image(FATES[at % FATES.len()], &mut dice).files).collect()
    }

    fn log() -> Log {
        Log::of(PathBuf::from("/invented"))
    }

    fn path(name: &str) -> PathBuf {
        Path::new("/invented").join(name)
    }

    #[test]
    fn a_synced_file_may_still_have_no_name_and_a_named_one_no_content() {
        let log = log();
        let node = log.file(&path("a")).unwrap();
        log.write(node, 0, b"leaf");
        log.sync(node);
        let whole = vec![(PathBuf::from("a"), b"leaf".to_vec())];
        assert_eq!(images(&log), BTreeSet::from([vec![], whole.clone()]));
        log.sync_folder(&path(""));
        assert_eq!(images(&log), BTreeSet::from([whole]));

        let log = super::tests::log();
        let node = log.file(&path("a")).unwrap();
        log.sync_folder(&path(""));
        log.write(node, 0, b"leaf");
        let lengths: BTreeSet<usize> = images(&log).iter().map(|files| files[0].1.len()).collect();
        assert_eq!(lengths, BTreeSet::from([0, 4]));
    }

    #[test]
    fn a_rename_is_whole_within_a_folder() {
        let log = log();
        let node = log.file(&path("a.part")).unwrap();
        log.write(node, 0, b"leaf");
        log.sync(node);
        log.sync_folder(&path(""));
        log.rename(&path("a.part"), &path("a"));
        let names: BTreeSet<Vec<PathBuf>> =
            images(&log).into_iter().map(|files| files.into_iter().map(|(name, _)| name).collect()).collect();
        assert_eq!(names, BTreeSet::from([vec!["a.part".into()], vec!["a".into()]]));
    }

    #[test]
    fn between_folders_a_sync_of_the_old_one_alone_may_lose_the_file() {
        let counts = |synced: &[&str]| -> BTreeSet<usize> {
            let log = log();
            log.folder(&path("aside"));
            let node = log.file(&path("a")).unwrap();
            log.sync(node);
            log.sync_folder(&path(""));
            log.rename(&path("a"), &path("aside/a"));
            for folder in synced {
                log.sync_folder(&path(folder));
            }
            images(&log).into_iter().map(|files| files.len()).collect()
        };
        assert_eq!(counts(&[]), BTreeSet::from([1]));
        assert_eq!(counts(&[""]), BTreeSet::from([0, 1]));
        assert_eq!(counts(&["aside"]), BTreeSet::from([1, 2]));
        assert_eq!(counts(&["aside", ""]), BTreeSet::from([1]));
    }

    #[test]
    fn an_unsynced_write_may_be_torn_at_sectors_and_nowhere_else() {
        let log = log();
        let node = log.file(&path("a")).unwrap();
        log.write(node, 0, &[1; 1024]);
        log.sync(node);
        log.sync_folder(&path(""));
        log.write(node, 256, &[2; 512]);
        let found: BTreeSet<[u8; 4]> =
            images(&log).into_iter().map(|files| [0, 256, 512, 768].map(|at| files[0].1[at])).collect();
        assert_eq!(found, BTreeSet::from([[1, 1, 1, 1], [1, 2, 1, 1], [1, 1, 2, 1], [1, 2, 2, 1]]));
    }

    #[test]
    fn of_two_writes_to_one_place_the_older_may_be_the_one_that_is_found() {
        let log = log();
        let node = log.file(&path("a")).unwrap();
        log.sync_folder(&path(""));
        log.write(node, 0, &[1; 8]);
        log.sync(node);
        log.write(node, 0, &[2; 8]);
        log.write(node, 0, &[3; 8]);
        let found: BTreeSet<u8> = images(&log).into_iter().map(|files| files[0].1[0]).collect();
        assert_eq!(found, BTreeSet::from([1, 2, 3]));
    }
}
