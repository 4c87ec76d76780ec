//! Names of methods, assumptions, headings and reasons. The catalogue of messages turns them into words.

use serde::Serialize;
use std::fmt;

/// Names a message of the catalogue; never prose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct MessageId(pub(crate) &'static str);

impl MessageId {
    /// The name.
    pub const fn name(self) -> &'static str {
        self.0
    }
}

impl fmt::Display for MessageId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0)
    }
}

macro_rules! ids {
    ($($(#[$doc:meta])* $constant:ident = $name:literal;)*) => {
        /// Message ids of this module, as constants.
        pub mod id {
            use crate::MessageId;
            $($(#[$doc])* pub const $constant: MessageId = MessageId($name);)*
            /// Every one of them, for the catalogue's completeness check.
            pub const ALL: &[MessageId] = &[$($constant),*];
        }
    };
}

ids! {
    /// Mean per unit of check with a t-interval.
    MEAN_PER_UNIT = "method.mean-per-unit";
    /// Share of occupied units with a Clopper-Pearson interval.
    OCCUPANCY = "method.occupancy";
    /// Plain sums by stage.
    TOTALS_BY_STAGE = "method.totals-by-stage";
    /// Trapezoids over days.
    TRAPEZOID_AREA = "method.trapezoid-area";
    /// Share with a Wilson score interval.
    SHARE_WILSON = "method.share-wilson";

    /// Head of every density that is not corrected for animals nobody saw.
    HEADING_COUNTED = "heading.counted";
    /// Head of results from samples whose effort nobody wrote down.
    HEADING_TOTALS_EFFORT_UNKNOWN = "heading.sample-totals-effort-unknown";

    /// Every animal present was seen; in truth some were not.
    ASSUMED_ALL_SEEN = "assumed.all-seen";
    /// Units were chosen by chance with equal chances, each for itself.
    ASSUMED_RANDOM_UNITS = "assumed.random-units";
    /// The observer chose the plants, which is no random sample.
    ASSUMED_OBSERVERS_CHOICE = "assumed.observers-choice";
    /// Nobody wrote down how the plants were chosen.
    ASSUMED_CHOICE_NOT_STATED = "assumed.choice-not-stated";
    /// Plants chosen in clusters are taken as chosen singly: the interval is too narrow.
    ASSUMED_CLUSTERS_IGNORED = "assumed.clusters-ignored";
    /// The tagged plants stand for the site.
    ASSUMED_TAGGED_STAND_FOR_SITE = "assumed.tagged-stand-for-site";
    /// The site holds so many units that the sample takes nothing away.
    ASSUMED_MANY_UNITS = "assumed.many-units";
    /// The number of units at the site is the one that was stated.
    ASSUMED_UNITS_AT_SITE = "assumed.units-at-site";
    /// The stated number of units at the site is below the number checked, and was not used.
    ASSUMED_UNITS_AT_SITE_TOO_FEW = "assumed.units-at-site-too-few";
    /// Every unit of the site was checked: no error of sampling.
    ASSUMED_EVERY_UNIT_CHECKED = "assumed.every-unit-checked";
    /// The value leaves undecided things out; the interval reaches from none to all of them being animals of the group.
    ASSUMED_INTERVAL_SPANS_UNDECIDED = "assumed.interval-spans-undecided";
    /// The totals are of a pooled check, so there is no variance and no interval.
    ASSUMED_POOLED_NO_VARIANCE = "assumed.pooled-no-variance";
    /// All units held the same number, so there is no variance and no interval.
    ASSUMED_EQUAL_COUNTS_NO_VARIANCE = "assumed.equal-counts-no-variance";
    /// The result is about what was counted, not about the site.
    ASSUMED_SAMPLE_ONLY = "assumed.sample-only";
    /// The effort was the same at all visits; nobody wrote it down.
    ASSUMED_EQUAL_EFFORT = "assumed.equal-effort";
    /// Between visits the numbers change along a straight line.
    ASSUMED_STRAIGHT_BETWEEN_VISITS = "assumed.straight-between-visits";
    /// Visits are independent samples with normal errors.
    ASSUMED_VISITS_INDEPENDENT = "assumed.visits-independent";
    /// The same tagged plants were checked each time, so visits are not independent and no interval is given.
    ASSUMED_SAME_PLANTS_NO_INTERVAL = "assumed.same-plants-no-interval";
    /// Visits at which no animal was found enter as zero without error: the interval is too narrow.
    ASSUMED_ZERO_VISITS_EXACT = "assumed.zero-visits-exact";
    /// Each thing was judged for itself.
    ASSUMED_THINGS_INDEPENDENT = "assumed.things-independent";

    /// There is nothing to estimate from.
    REFUSED_NOTHING = "refused.nothing";
    /// Too few observations.
    REFUSED_TOO_FEW = "refused.too-few";
    /// All values are equal.
    REFUSED_NO_VARIANCE = "refused.no-variance";
    /// Nobody wrote down how many units were checked.
    REFUSED_UNKNOWN_EFFORT = "refused.unknown-effort";
    /// Only totals are known, and the method needs the plants one by one.
    REFUSED_POOLED = "refused.pooled";
    /// The stage was not looked for.
    REFUSED_OUT_OF_SCOPE = "refused.out-of-scope";
    /// Stems and clumps in one series.
    REFUSED_MIXED_UNITS = "refused.mixed-units";
    /// Effort is known but not its unit.
    REFUSED_UNKNOWN_UNIT = "refused.unknown-unit";
    /// Two values for one day.
    REFUSED_SAME_DAY = "refused.same-day";
    /// A value that is no finite number of the allowed range.
    REFUSED_NOT_A_NUMBER = "refused.not-a-number";
    /// More successes than trials, or fewer units at the site than were checked.
    REFUSED_IMPOSSIBLE_COUNTS = "refused.impossible-counts";
}

#[cfg(test)]
mod tests {
    use super::id;
    use std::collections::BTreeSet;

    #[test]
    fn no_name_stands_for_two_messages() {
        assert_eq!(id::ALL.iter().collect::<BTreeSet<_>>().len(), id::ALL.len());
    }
}
