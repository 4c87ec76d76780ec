//! How far observers can be trusted: agreement, what is recorded for what, correction of stage counts by audits, and
//! animals that nobody saw.

mod audits;
mod chapman;
mod cohen;
mod correct;
mod dependent;
mod fleiss;
mod gwet;
mod invert;
mod lincoln_petersen;
mod n_mixture;
mod removal;
mod rogan_gladen;
mod table;
mod weighted;

pub use audits::{Audit, Confusion, ConfusionFrom, FEWEST_AUDITS, confusion};
pub use chapman::{DoubleCount, Pair, chapman};
pub use cohen::cohen;
pub use correct::{Corrected, correct, expectation_maximisation};
pub use dependent::{Dependent, dependent};
pub use fleiss::{fleiss, free_marginal};
pub use gwet::ac1;
pub use invert::{Inverted, invert};
pub use lincoln_petersen::lincoln_petersen;
pub use n_mixture::{NMixture, n_mixture};
pub use removal::{Removal, removal, two_passes};
pub use rogan_gladen::rogan_gladen;
pub use table::Table;
pub(crate) use weighted::whole;
pub use weighted::{Kappa, Weights, weighted_kappa};

ids! {
    /// Cohen's kappa.
    COHEN = "method.cohen-kappa";
    /// Weighted kappa.
    WEIGHTED_KAPPA = "method.weighted-kappa";
    /// Fleiss' kappa.
    FLEISS = "method.fleiss-kappa";
    /// Kappa with free marginals.
    FREE_MARGINAL = "method.free-marginal-kappa";
    /// Gwet's AC1.
    AC1 = "method.gwet-ac1";
    /// True share from an imperfect test.
    ROGAN_GLADEN = "method.rogan-gladen";
    /// Stage counts corrected by expectation and maximisation.
    CORRECTED_BY_EM = "method.corrected-by-em";
    /// Stage counts corrected by inversion.
    CORRECTED_BY_INVERSION = "method.corrected-by-inversion";
    /// Lincoln and Petersen.
    LINCOLN_PETERSEN = "method.lincoln-petersen";
    /// Chapman.
    CHAPMAN = "method.chapman";
    /// Two observers in turn.
    DEPENDENT_OBSERVERS = "method.dependent-observers";
    /// Two passes with removal.
    TWO_PASSES = "method.two-pass-removal";
    /// Removal over several sites.
    REMOVAL = "method.removal";
    /// N-mixture.
    N_MIXTURE = "method.n-mixture";

    /// Animals are judged each for itself.
    ASSUMED_ANIMALS_JUDGED_SINGLY = "assumed.animals-judged-singly";
    /// Of what could be seen: animals that nobody could see are not in it, so that it is a lower bound.
    ASSUMED_OF_WHAT_COULD_BE_SEEN = "assumed.of-what-could-be-seen";
    /// Neither observer knew what the other had seen.
    ASSUMED_INDEPENDENT_OBSERVERS = "assumed.independent-observers";
    /// Each observer sees all animals alike.
    ASSUMED_ALIKE_VISIBLE = "assumed.animals-alike-visible";
    /// Nothing came or went between the counts.
    ASSUMED_CLOSED = "assumed.closed-between-counts";
    /// The value fell outside 0 to 1 and was cut.
    ASSUMED_CUT_TO_POSSIBLE = "assumed.cut-to-possible";
    /// Sensitivity and specificity are known without error.
    ASSUMED_KNOWN_ERRORS = "assumed.known-error-rates";
    /// The audit stands for what was recorded, by its weights.
    ASSUMED_AUDIT_IS_REPRESENTATIVE = "assumed.audit-is-representative";
    /// Audits of all observers are pooled, for this one has too few.
    ASSUMED_AUDITS_POOLED = "assumed.audits-pooled";
    /// A true class was never audited and is taken as recorded rightly.
    ASSUMED_CLASS_NOT_AUDITED = "assumed.class-not-audited";
    /// Corrects false records only; missed animals are not in it.
    ASSUMED_FALSE_RECORDS_ONLY = "assumed.false-records-only";
    /// Weakly identified where few animals are found: double counts are the safer design.
    ASSUMED_N_MIXTURE_WARNING = "assumed.n-mixture-weakly-identified";
    /// The numbers per site follow a Poisson distribution.
    ASSUMED_POISSON_SITES = "assumed.poisson-sites";
    /// Inversion left what is possible: some numbers are below zero.
    WARNED_BELOW_ZERO = "warned.inversion-below-zero";

    /// Too few audits of a recorded class.
    REFUSED_AUDITS_TOO_FEW = "refused.audits-too-few";
    /// Without the number that both saw there is no such estimate.
    REFUSED_NOT_MATCHED = "refused.not-matched";
    /// No animal was seen by both.
    REFUSED_NONE_SEEN_BY_BOTH = "refused.none-seen-by-both";
    /// Rows of the table differ in length or sum.
    REFUSED_TABLE_SHAPE = "refused.table-shape";
    /// The table says nothing: all are of one class.
    REFUSED_ONE_CLASS = "refused.one-class";
    /// The test is no better than chance.
    REFUSED_TEST_WORTHLESS = "refused.test-worthless";
    /// The matrix has no inverse.
    REFUSED_NO_INVERSE = "refused.no-inverse";
    /// The later pass found as many as the first.
    REFUSED_NO_DECLINE = "refused.no-decline";
    /// The counts do not tell numbers from detection.
    REFUSED_NOT_IDENTIFIED = "refused.not-identified";
}
