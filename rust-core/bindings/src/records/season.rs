//! The season: this site's curve, what to expect, how many more, come again on.

use crate::voice::Voice;
use handset::HandsetError;
use handset::views::{ClosingView, ComeAgainView, EffortView, HowManyView, Message, SeasonChart, SeasonView};
use messages::words;
use survey::protocol::Unit;

/// A site's season.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SeasonScreen {
    /// Title: the site.
    pub title: String,
    /// Said where nobody was there yet.
    pub none: Option<String>,
    /// Seasons, the latest first, each unit of check by itself.
    pub seasons: Vec<OneSeason>,
    /// Heading of what to expect.
    pub expect_title: String,
    /// Stages to expect of eggs laid on the day of the latest visit, a line each.
    pub expect: Vec<String>,
    /// When to come again.
    pub come_again: Option<ComeAgain>,
    /// That all is counted, and not corrected for what was overlooked.
    pub note: String,
}

/// A season in one unit of check.
#[derive(Debug, Clone, uniffi::Record)]
pub struct OneSeason {
    /// Year and unit.
    pub title: String,
    /// For `season_drawing`: the course of each stage, and the stages at each visit.
    pub drawings: Vec<SeasonDrawing>,
    /// A line for each visit.
    pub lines: Vec<String>,
}

/// A drawing of a season.
#[derive(Debug, Clone, uniffi::Record)]
pub struct SeasonDrawing {
    /// The year.
    pub year: i32,
    /// `stem` or `clump`.
    pub unit: String,
    /// `curve` or `composition`.
    pub chart: String,
}

/// When to come again.
#[derive(Debug, Clone, uniffi::Record)]
pub struct ComeAgain {
    /// Heading.
    pub title: String,
    /// The date, where there is one, then the chances of seeing a cohort young, a line each.
    pub lines: Vec<String>,
    /// What was assumed, a line each.
    pub assumed: Vec<String>,
}

/// How many plants more, and which.
#[derive(Debug, Clone, uniffi::Record)]
pub struct AdviceScreen {
    /// Title.
    pub title: String,
    /// How many more are advised; `None` where counting may stop.
    pub more: Option<u32>,
    /// The advice, a line each.
    pub lines: Vec<String>,
    /// Heading of which plants.
    pub which_title: String,
    /// Which plants to take, a line each.
    pub which: Vec<String>,
}

/// What an effort can tell, before a visit.
#[derive(Debug, Clone, uniffi::Record)]
pub struct EffortScreen {
    /// Title.
    pub title: String,
    /// What is expected, and where that comes from.
    pub expected: String,
    /// A line for each number of plants.
    pub lines: Vec<String>,
}

/// The three lines after a visit.
#[derive(Debug, Clone, uniffi::Record)]
pub struct ClosingScreen {
    /// Title.
    pub title: String,
    /// Three lines: what was found, what the visit did to the interval, what comes next.
    pub lines: Vec<String>,
}

impl SeasonScreen {
    pub(crate) fn of(view: &SeasonView, voice: Voice) -> Self {
        let season = |one: &handset::views::OneSeason| {
            let unit = words::unit(voice.language, one.unit);
            let told = [("year", one.year.to_string().into()), ("unit", unit.into())];
            let drawing =
                |chart: &str| SeasonDrawing { year: one.year, unit: one.unit.name().into(), chart: chart.into() };
            OneSeason {
                title: voice.say("season.heading", &told),
                drawings: vec![drawing("curve"), drawing("composition")],
                lines: lines(&one.lines, voice),
            }
        };
        Self {
            title: view.name.clone().unwrap_or_else(|| voice.plain("sites.unnamed")),
            none: view.seasons.is_empty().then(|| voice.plain("season.none")),
            seasons: view.seasons.iter().map(season).collect(),
            expect_title: voice.plain("phone.season.expect-title"),
            expect: lines(&view.expect_lines, voice),
            come_again: view.come_again.as_ref().map(|view| ComeAgain::of(view, voice)),
            note: voice.plain("phone.counted-only"),
        }
    }
}

impl ComeAgain {
    fn of(view: &ComeAgainView, voice: Voice) -> Self {
        Self {
            title: voice.plain("phone.season.come-again-title"),
            lines: lines(&view.lines, voice),
            assumed: lines(&view.assumed, voice),
        }
    }
}

impl SeasonDrawing {
    /// Which drawing it is.
    pub(crate) fn read(&self) -> Result<((i32, Unit), SeasonChart), HandsetError> {
        let unit = [Unit::Stem, Unit::Clump].into_iter().find(|unit| unit.name() == self.unit);
        let unit = unit.ok_or_else(|| HandsetError::not_here(&self.unit))?;
        let chart = match self.chart.as_str() {
            "curve" => SeasonChart::Curve,
            "composition" => SeasonChart::Composition,
            other => return Err(HandsetError::not_here(other)),
        };
        Ok(((self.year, unit), chart))
    }
}

impl AdviceScreen {
    pub(crate) fn of(view: &HowManyView, which: &[Message], voice: Voice) -> Self {
        Self {
            title: voice.plain("phone.advice"),
            more: view.more,
            lines: lines(&view.lines, voice),
            which_title: voice.plain("phone.how-chosen"),
            which: lines(which, voice),
        }
    }
}

impl EffortScreen {
    pub(crate) fn of(view: &EffortView, voice: Voice) -> Self {
        Self {
            title: voice.plain("phone.season.effort-title"),
            expected: voice.message(&view.expected_from),
            lines: view.rows.iter().map(|row| voice.message(&row.text)).collect(),
        }
    }
}

impl ClosingScreen {
    pub(crate) fn of(view: &ClosingView, voice: Voice) -> Self {
        let lines = [&view.found, &view.interval, &view.next].map(|line| voice.message(line));
        Self { title: voice.plain("phone.ended"), lines: lines.into() }
    }
}

fn lines(messages: &[Message], voice: Voice) -> Vec<String> {
    messages.iter().map(|message| voice.message(message)).collect()
}
