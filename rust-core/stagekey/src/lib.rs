//! The stage key and its practice.
mod answer;
mod density;
mod fault;
mod infer;
mod key;
mod load;
mod names;
mod proposal;
mod question;
mod raw;
mod reasons;
mod session;

pub use answer::{Answer, AnswerError};
pub use density::{Reading, Spread, dyar, dyar_fit};
pub use fault::{Fault, Faults, Reason as FaultReason};
pub use key::{Character, Key, KeyOutcome, Kind, Likeness, Look, State};
pub use load::monarch_text;
pub use names::{CharacterId, Means, OutcomeId, StateId};
pub use proposal::{Counts, Proposal};
pub use question::Question;
pub use raw::Unit;
pub use reasons::{Contradiction, Reason};
pub use session::{Asks, KeySession, Next, Prior};
