//! Verdicts: what the station says of entries after accepting them.

use super::StoreError;
use survey::chain::{Hash, Head, StreamId};
use survey::ids::SiteId;
use survey::time::UnixMs;
use sync::wire::verdict::{Ruling, VerdictPage};

/// A ruling on one entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryRuling {
    /// Whose entry.
    pub stream: StreamId,
    /// Which.
    pub at: Head,
    /// What is said.
    pub ruling: Ruling,
}

/// Up to where, and by which fold, a site has been judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Judged {
    /// The number of the feed's last item that was folded.
    pub upto: u64,
    /// Version of the fold.
    pub fold_version: u32,
    /// Hash of the summary of the state.
    pub summary: Hash,
}

/// Verdicts.
pub trait JudgementStore {
    /// Makes these the rulings on a site's entries. What differs from the last verdict on its entry gets a verdict; an entry
    /// with an earlier remark that is not among them is accepted. Says how many verdicts were added.
    ///
    /// # Errors
    /// Where the store cannot.
    fn judge(&self, site: SiteId, judged: Judged, rulings: &[EntryRuling], at: UnixMs) -> Result<usize, StoreError>;

    /// The sites whose feed has grown since they were judged, or that were judged by another version of the fold; where
    /// a stream is named only those in which it has entries. In order.
    ///
    /// # Errors
    /// Where the store cannot.
    fn due(&self, fold_version: u32, stream: Option<StreamId>) -> Result<Vec<SiteId>, StoreError>;

    /// How far a site has been judged.
    ///
    /// # Errors
    /// Where the store cannot.
    fn judged(&self, site: SiteId) -> Result<Option<Judged>, StoreError>;

    /// The rulings that hold on a site's entries other than `Accepted`, in the order of (device, epoch, seq, hash).
    ///
    /// # Errors
    /// Where the store cannot.
    fn rulings(&self, site: SiteId) -> Result<Vec<EntryRuling>, StoreError>;

    /// The verdicts on a stream's entries after a number, at most `most`.
    ///
    /// # Errors
    /// Where the store cannot.
    fn verdicts_after(&self, stream: StreamId, after: u64, most: usize) -> Result<VerdictPage, StoreError>;

    /// The number of the last verdict on a stream, 0 for none.
    ///
    /// # Errors
    /// Where the store cannot.
    fn last_verdict(&self, stream: StreamId) -> Result<u64, StoreError>;
}
