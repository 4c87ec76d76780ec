//! What can happen in a world, one step at a time, drawn from a seed.

use std::fmt;
use std::str::FromStr;
use sync::engine::Dice;

/// One step: who, what, and the luck that settles the rest. A step means the same whatever was left out before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// Which phone, counted around those that exist.
    pub who: u8,
    /// What happens.
    pub deed: Deed,
    /// Settles details.
    pub luck: u64,
}

macro_rules! deeds {
    ($($weight:literal $variant:ident $name:literal $doc:literal),* $(,)?) => {
        /// What happens in a step.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Deed { $(#[doc = $doc] $variant),* }

        impl Deed {
            /// All of them, each with how often it is drawn beside the others.
            pub const ALL: &[(Self, u64)] = &[$((Self::$variant, $weight)),*];

            /// The name in step lists.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),* }
            }
        }
    };
}

deeds! {
    3 NewSite "new-site" "A site is described.",
    7 AdoptSite "adopt-site" "A site is taken over from another phone's screen.",
    2 DescribeSite "describe-site" "A site is described again.",
    5 Begin "begin" "A visit begins.",
    4 BeginBeside "begin-beside" "A visit begins by another phone's visit code.",
    3 TakeInHand "take-in-hand" "Another visit is taken in hand.",
    40 Tap "tap" "An animal is counted.",
    8 CountMany "count-many" "Several are counted at once, maybe not living.",
    10 NextPlant "next-plant" "On to the next plant.",
    6 EmptyPlant "empty-plant" "The plant is empty.",
    5 ClosePlant "close-plant" "The plant is closed.",
    16 TakeBack "take-back" "The last act is taken back.",
    9 Redo "redo" "That is redone.",
    4 TakeBackEntry "take-back-entry" "An older act is taken back.",
    5 DescribePlant "describe-plant" "The plant is described.",
    3 Weather "weather" "Weather is noted.",
    3 DescribeVisit "describe-visit" "The visit is described.",
    3 Adults "adults" "Adults are counted.",
    2 Pooled "pooled" "Totals of an older record.",
    3 Match "match" "Two checks are matched.",
    3 Compare "compare" "Equal numbers are compared.",
    4 JoinVisits "join-visits" "Two visits are said to be one.",
    3 JoinSites "join-sites" "Two sites are said to be one.",
    2 TagPlant "tag-plant" "A plant is tagged.",
    2 FindOutside "find-outside" "An animal outside the sample.",
    2 SeeEgg "see-egg" "A followed egg is looked at.",
    4 Note "note" "A note is written.",
    2 EraseNote "erase-note" "A note is erased.",
    4 Photo "photo" "A photo is taken.",
    1 LosePhoto "lose-photo" "A photo is lost.",
    5 End "end" "The visit ends.",
    40 Sync "sync" "A sync over a bad network.",
    14 SyncGood "sync-good" "A sync over a good one.",
    5 Join "join" "The phone joins, or joins again.",
    5 Kill "kill" "The app is killed and opened.",
    5 KillInJob "kill-in-job" "The app is killed while a request is out.",
    5 PowerCut "power-cut" "Power fails during an act.",
    5 BackUp "back-up" "The phone's folder is copied.",
    6 Restore "restore" "The copy is put back.",
    3 Clone "clone" "A second phone from one folder.",
    2 Replace "replace" "The phone is lost and replaced.",
    5 ClockJump "clock-jump" "The wall clock is set, by years.",
    3 Reboot "reboot" "The phone is started again.",
    4 PhoneFull "phone-full" "The phone's disk is full for a while.",
    4 CopyStation "copy-station" "The station's folder is copied.",
    3 RestoreStation "restore-station" "The copy is put back, as a plain copy of files.",
    3 StationFull "station-full" "The station's disk is full for a while.",
    3 Revoke "revoke" "The coordinator revokes a token.",
    3 LoseToken "lose-token" "The phone's token is lost.",
    4 WrongToken "wrong-token" "Somebody tries tokens that begin like a real one.",
    6 Grant "grant" "The coordinator opens a site to a phone.",
    4 Newer "newer" "A newer version of the app pushes an entry that this one does not know.",
    3 Garbled "garbled" "An app pushes an entry that is none.",
    8 Review "review" "A count is reviewed.",
    4 HandOver "hand-over" "An export is handed over and taken in.",
    3 CutFile "cut-file" "An export arrives cut off.",
}

impl Step {
    /// Draws the steps of a world.
    pub fn draw_all(dice: &mut Dice) -> Vec<Self> {
        let most = 25 + below(dice, 50);
        (0..most).map(|_| Self::draw(dice)).collect()
    }

    fn draw(dice: &mut Dice) -> Self {
        let total: u64 = Deed::ALL.iter().map(|(_, weight)| weight).sum();
        let mut at = below(dice, total);
        let found = Deed::ALL.iter().find(|(_, weight)| {
            let hit = at < *weight;
            at = at.saturating_sub(*weight);
            hit
        });
        let deed = found.map_or(Deed::Tap, |(deed, _)| *deed);
        Self { who: u8::try_from(below(dice, 4)).unwrap_or(0), deed, luck: dice.roll() }
    }
}

/// A number below `n`, which is not 0.
pub(crate) fn below(dice: &mut Dice, n: u64) -> u64 {
    dice.roll() % n.max(1)
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{:x}", self.who, self.deed.name(), self.luck)
    }
}

/// The text is no step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotAStep(pub String);

impl FromStr for Step {
    type Err = NotAStep;

    fn from_str(text: &str) -> Result<Self, NotAStep> {
        let read = || {
            let mut parts = text.split(':');
            let who = parts.next()?.parse().ok()?;
            let name = parts.next()?;
            let (deed, _) = Deed::ALL.iter().find(|(deed, _)| deed.name() == name)?;
            let luck = u64::from_str_radix(parts.next()?, 16).ok()?;
            Some(Self { who, deed: *deed, luck })
        };
        read().ok_or_else(|| NotAStep(text.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_read_back() {
        for step in Step::draw_all(&mut Dice::new(3)) {
            assert_eq!(step.to_string().parse(), Ok(step));
        }
        assert!("1:nothing:0".parse::<Step>().is_err());
    }
}
