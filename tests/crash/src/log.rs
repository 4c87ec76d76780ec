//! The one ordered log of everything that changed the disk, and of what a person was told was done.

use crate::told::Told;
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// A file or a folder, whatever names it has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Node(u32);

/// A name in a folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The folder.
    pub folder: Node,
    /// The name in it.
    pub name: String,
}

/// One change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A file is made, empty.
    File {
        /// The file.
        node: Node,
        /// Its name.
        at: Place,
    },
    /// A folder is made.
    Folder {
        /// The folder.
        node: Node,
        /// Its name.
        at: Place,
    },
    /// Octets are written into a file.
    Write {
        /// The file.
        node: Node,
        /// Where.
        offset: usize,
        /// What.
        octets: Vec<u8>,
    },
    /// A file is cut or stretched.
    Size {
        /// The file.
        node: Node,
        /// To how many octets.
        size: usize,
    },
    /// A file's content, or a folder's names, are synced.
    Sync {
        /// Which.
        node: Node,
    },
    /// A name goes to another place.
    Rename {
        /// From where.
        from: Place,
        /// To where.
        to: Place,
    },
    /// A name goes.
    Remove {
        /// Which.
        at: Place,
    },
    /// A person was told that an act is done.
    Told(Box<Told>),
}

/// Everything below one folder, recorded.
#[derive(Debug)]
pub struct Log {
    root: PathBuf,
    inner: Mutex<Inner>,
}

#[derive(Debug, Default)]
struct Inner {
    changes: Vec<Change>,
    names: BTreeMap<Place, Node>,
    made: u32,
}

impl Node {
    /// The folder that the log is of; it lasts.
    pub const ROOT: Self = Self(0);
}

impl Log {
    /// A log of what happens below this folder, which is there and empty.
    pub fn of(root: PathBuf) -> Self {
        Self { root, inner: Mutex::default() }
    }

    /// The folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The changes until here.
    pub fn changes(&self) -> Vec<Change> {
        self.lock().changes.clone()
    }

    /// How many changes there are until here.
    pub fn len(&self) -> usize {
        self.lock().changes.len()
    }

    /// Whether nothing was changed.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// A person was told that everything until here is done.
    pub fn told(&self, told: Told) {
        self.lock().changes.push(Change::Told(Box::new(told)));
    }

    /// The file of this name; one is made where there is none. `None` for a path outside the root.
    pub fn file(&self, path: &Path) -> Option<Node> {
        self.make(path, |node, at| Change::File { node, at })
    }

    /// Notes a folder that was made.
    pub fn folder(&self, path: &Path) {
        self.make(path, |node, at| Change::Folder { node, at });
    }

    /// Notes octets written.
    pub fn write(&self, node: Node, offset: usize, octets: &[u8]) {
        self.lock().changes.push(Change::Write { node, offset, octets: octets.to_vec() });
    }

    /// Notes a change of size.
    pub fn size(&self, node: Node, size: usize) {
        self.lock().changes.push(Change::Size { node, size });
    }

    /// Notes a sync of a file.
    pub fn sync(&self, node: Node) {
        self.lock().changes.push(Change::Sync { node });
    }

    /// Notes a sync of a folder.
    pub fn sync_folder(&self, path: &Path) {
        let mut inner = self.lock();
        if let Some(node) = self.find(&inner, path) {
            inner.changes.push(Change::Sync { node });
        }
    }

    /// Notes that a name went to another place.
    pub fn rename(&self, from: &Path, to: &Path) {
        let mut inner = self.lock();
        let (Some(from), Some(to)) = (self.place(&inner, from), self.place(&inner, to)) else { return };
        if let Some(node) = inner.names.remove(&from) {
            inner.names.insert(to.clone(), node);
            inner.changes.push(Change::Rename { from, to });
        }
    }

    /// Notes that a name goes.
    pub fn remove(&self, path: &Path) {
        let mut inner = self.lock();
        let Some(at) = self.place(&inner, path) else { return };
        if inner.names.remove(&at).is_some() {
            inner.changes.push(Change::Remove { at });
        }
    }

    fn make(&self, path: &Path, change: impl FnOnce(Node, Place) -> Change) -> Option<Node> {
        let mut inner = self.lock();
        let at = self.place(&inner, path)?;
        if let Some(&node) = inner.names.get(&at) {
            return Some(node);
        }
        inner.made += 1;
        let node = Node(inner.made);
        inner.names.insert(at.clone(), node);
        inner.changes.push(change(node, at));
        Some(node)
    }

    fn place(&self, inner: &Inner, path: &Path) -> Option<Place> {
        let name = path.file_name()?.to_str()?.to_owned();
        let folder = self.find(inner, path.parent()?)?;
        Some(Place { folder, name })
    }

    fn find(&self, inner: &Inner, path: &Path) -> Option<Node> {
        path.strip_prefix(&self.root).ok()?.components().try_fold(Node::ROOT, |folder, component| match component {
            Component::Normal(name) => inner.names.get(&Place { folder, name: name.to_str()?.to_owned() }).copied(),
            _ => None,
        })
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
