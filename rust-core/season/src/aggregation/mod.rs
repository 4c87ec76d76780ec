//! How animals crowd on plants: the negative binomial and its k, indices of dispersion, laws of variance and mean,
//! presence and absence, and intervals of shares.
//!
//! The clumping of eggs on plants must be estimated, never assumed: no published k of monarch eggs is built in.

mod agresti_coull;
mod david_moore;
mod dispersion_index;
mod distribution;
mod fit;
mod garwood;
mod green;
mod iwao;
mod jeffreys;
mod k_by_likelihood;
mod k_by_moments;
mod k_by_zeros;
mod likeliest_k;
mod lloyd;
mod mid_p;
mod moments;
mod morisita;
mod poisson_or_clumped;
mod presence;
mod score_difference;
mod taylor;
mod wilson_corrected;

pub use agresti_coull::agresti_coull;
pub use david_moore::david_moore;
pub use dispersion_index::{DispersionTest, dispersion_index};
pub use distribution::Distribution;
pub use fit::{GoodnessOfFit, goodness_of_fit, last_class_for};
pub use garwood::garwood;
pub use green::green;
pub use iwao::{Crowding, iwao};
pub use jeffreys::jeffreys;
pub use k_by_likelihood::k_by_likelihood;
pub use k_by_moments::k_by_moments;
pub use k_by_zeros::k_by_zeros;
pub use likeliest_k::LikeliestK;
pub use lloyd::{mean_crowding, patchiness};
pub use mid_p::mid_p;
pub use moments::{Clumping, MeanAndVariance};
pub use morisita::morisita;
pub use poisson_or_clumped::{PoissonOrClumped, poisson_or_clumped};
pub use presence::{mean_from_presence, presence_from_mean};
pub use score_difference::score_difference;
pub use taylor::{PowerLaw, taylor};
pub use wilson_corrected::wilson_corrected;

pub(crate) use k_by_likelihood::profile as k_profile;

ids! {
    /// k of the negative binomial by moments.
    K_BY_MOMENTS = "method.k-by-moments";
    /// k of the negative binomial by the share of zeros.
    K_BY_ZEROS = "method.k-by-zeros";
    /// k of the negative binomial by maximum likelihood with profile interval.
    K_BY_LIKELIHOOD = "method.k-by-likelihood";
    /// k of the negative binomial by maximum likelihood, with an interval by the bootstrap.
    K_BY_BOOTSTRAP = "method.k-by-bootstrap";
    /// Morisita's index.
    MORISITA = "method.morisita";
    /// Lloyd's mean crowding.
    MEAN_CROWDING = "method.mean-crowding";
    /// Lloyd's patchiness.
    PATCHINESS = "method.patchiness";
    /// David and Moore's index of clumping.
    DAVID_MOORE = "method.david-moore";
    /// Green's coefficient.
    GREEN = "method.green-coefficient";
    /// Mean density from the share of occupied units.
    MEAN_FROM_PRESENCE = "method.mean-from-presence";
    /// Difference of two shares by Newcombe's method 10.
    SCORE_DIFFERENCE = "method.score-difference";

    /// Counts follow a negative binomial.
    ASSUMED_NEGATIVE_BINOMIAL = "assumed.negative-binomial";
    /// The stated k holds for these plants.
    ASSUMED_KNOWN_K = "assumed.known-k";
    /// No clumping can be told from chance: the variance is no greater than the mean.
    ASSUMED_NO_CLUMPING_FOUND = "assumed.no-clumping-found";
    /// The method has no interval of its own.
    ASSUMED_NO_INTERVAL = "assumed.no-interval-of-its-own";

    /// All counts are zero.
    REFUSED_ALL_ZERO = "refused.all-zero";
    /// All units are occupied, so that the share says nothing about how many there are on each.
    REFUSED_ALL_OCCUPIED = "refused.all-occupied";
    /// No unit is empty.
    REFUSED_NONE_EMPTY = "refused.none-empty";
    /// All means are equal, so that no line can be drawn.
    REFUSED_EQUAL_MEANS = "refused.equal-means";
    /// k has to be above zero.
    REFUSED_K_NOT_POSITIVE = "refused.k-not-positive";
    /// Too few classes for a test of fit.
    REFUSED_TOO_FEW_CLASSES = "refused.too-few-classes";
}
