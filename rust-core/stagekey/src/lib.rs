//! The stage key: characters, likelihoods, the next best question, honest doubt. Pure: no clock, no
//! chance but a seed, no file.
//!
//! A [`Key`] is data, checked when it is loaded; the monarch's is built in ([`Key::monarch`]). A [`KeySession`] holds
//! the answers about one thing on a leaf. It says how well each outcome fits under a uniform prior
//! ([`KeySession::support`]), what speaks for and against ([`KeySession::reasons`]), which two answers disagree most
//! ([`KeySession::contradiction`]), what is proposed ([`KeySession::proposal`]: the smallest set of outcomes whose
//! support reaches the threshold), what to ask next ([`KeySession::next`]), and what a count keeps of it
//! ([`KeySession::evidence`]). Words and drawings are named by id and stand elsewhere.
//!
//! # How the answers are weighed
//! By Bayes' rule. Characters that say nearly the same form a group. A group is one joint table, or its answers are
//! weighted: the logarithms of their likelihoods are averaged with weights that sum to one over those answered, so that
//! a group never says more than one character. An answer "not sure between" adds the chances of its states. A number has
//! the density of the body growing evenly on the log scale from moult to moult (or of a hard part that does not grow),
//! blurred by the error of measuring, with a share of slips that say nothing. "Looked, not there" is a state like
//! another; only "could not look" is a skip, which equals not asking. A length from a photo comes with its error
//! ([`photo`]). Support has not been calibrated on real animals.
//!
//! # The next question
//! The one with the largest expected drop in entropy per second of effort, by the means allowed. It looks one question
//! ahead. While several outcomes are proposed, a question is asked that is expected to take away 0.13 nats, or 0.07 if it
//! is as likely as not to change the proposal; once one is proposed, one that takes away 0.13 and changes the proposal with
//! a chance of 0.35. A session that begins with the observer's guess asks
//! only the one or two characters that split it from its neighbours.
//!
//! # Writing the key of another insect
//! A key is a TOML file. Names are small letters, digits and hyphens. In order:
//!
//! - `format = 1`, `id`, `species`, `threshold` with `threshold_source`, and `invented = "..."` if the insect is.
//! - `[sources]`: a short name for each source, and what it stands for. Every number names one of them. Say "common
//!   practice, no source" or "from memory" where that is so.
//! - `[[outcome]]`: `id`; `counts_as` (a stage, or `none`); `animal_state` where it is dead; `neighbours` with which it is
//!   confused. A look-alike names what it `looks_like`, and the `deciding` states that tell the two apart: at least one is
//!   four times as likely under one as under the other. Where nothing decides, `none_deciding` says against which and
//!   why.
//! - `[[character]]` with two `states` or more, and one `[[character.look]]` for each means: `eye`, `lens`, `photo`,
//!   `measuring`. A look has its cost in `seconds`, its `source`, and `rows`: for which outcomes, the chances `p` of the
//!   states in their order, and a `source`. A row sums to 1 and holds no 0 or 1; `rest` stands for all outcomes that no
//!   other row names. `animal_states` tells which state of the animal a state shows.
//! - `[[character]]` with `[character.number]` instead: `unit` (`mm`, `mg` or `ratio`), `least`, `most`, and `sizes`: for
//!   which outcomes `from` and `to` (just after and just before the moults), or `about` and `spread` (on the log scale),
//!   or `instar` with a `dyar` rule, or `broad = true`. Its looks have `error` (on the log scale) and `slip`, 0.02 or more,
//!   in place of rows.
//! - `[[group]]` for characters that say nearly the same: `weights` that sum to 1, or `[group.joint]` with the
//!   `characters`, the `means`, and rows over every combination of states, the last character running fastest.
//!
//! [`Key::load`] tells everything that is wrong, by line; [`Key::load_or_monarch`] keeps the built-in key in use then. The
//! texts are `key.ID.CHARACTER`, `key.ID.CHARACTER.STATE` and `key.ID.outcome.OUTCOME`; the drawings `CHARACTER/STATE` and
//! `outcome/OUTCOME`; [`Key::missing`] tells which nobody has. The smallest whole example, of an invented insect, is
//! `tests/keys/lamp-moth.toml`.

mod answer;
mod built_in;
mod deciding;
mod density;
#[cfg(feature = "files")]
mod fault;
mod infer;
mod key;
#[cfg(feature = "files")]
mod load;
mod names;
pub mod photo;
mod proposal;
mod question;
#[cfg(feature = "files")]
mod raw;
mod reasons;
mod session;
mod unit;

pub use answer::{Answer, AnswerError};
pub use density::{Reading, Spread, dyar, dyar_fit};
#[cfg(feature = "files")]
pub use fault::{Fault, Faults, Reason as FaultReason};
pub use key::{Character, Key, KeyOutcome, Kind, Likeness, Look, State};
#[cfg(feature = "files")]
pub use load::monarch_text;
pub use names::{CharacterId, Means, OutcomeId, StateId};
pub use proposal::{Counts, Proposal};
pub use question::Question;
pub use reasons::{Contradiction, Reason};
pub use session::{Asks, KeySession, Next, Prior};
pub use unit::Unit;
