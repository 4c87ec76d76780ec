//! What comes: when to come again, and which stages to expect.
//!
//! A phone knows no daily temperatures. Everything is said for days that are 20, 25 and 30 °C throughout, and the person
//! takes the one that the weather is like.

use crate::views::message::{Argument, Message};
use season::clock::{Cohort, Normals, Reached, StageClock, Temperatures, falls_below, next_visit, stage_dates};
use season::degree_days::{Celsius, Day, Weather};
use season::{Level, MessageId};
use serde::Serialize;
use survey::date::Date;
use survey::stage::Stage;

/// Days that are so warm throughout, °C.
const DAYS: [f64; 3] = [20.0, 25.0, 30.0];
/// Below this chance of seeing a cohort young, it is time to come (choice of this project).
const SHARE: f64 = 0.5;
/// Days of all months, the leap day among them.
const MONTHS: [u32; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/// When to come again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ComeAgainView {
    /// The visit that it is reckoned from.
    pub from: Date,
    /// The first day on which fewer than half of the eggs laid the day after would still be seen as egg or larva 1, if
    /// days are 25 °C.
    pub on: Option<Date>,
    /// Chances by days to wait and warmth of the days.
    pub chances: Vec<ChanceRow>,
    /// The same in words.
    pub lines: Vec<Message>,
    /// What was assumed.
    pub assumed: Vec<Message>,
}

/// Chances of seeing a cohort young after so many days.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChanceRow {
    /// Days from one visit to the next.
    pub days: u64,
    /// The date.
    pub date: Date,
    /// The chance for days of 20, 25 and 30 °C.
    pub chance: [f64; 3],
}

/// Until when eggs of a day are in a stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExpectRow {
    /// The stage.
    pub stage: Stage,
    /// Its typical end for days of 30 °C, and of 20 °C; `None` where nothing is known of that day.
    pub ends: [Option<Date>; 2],
}

pub(super) fn come_again(from: Date) -> Option<ComeAgainView> {
    let clock = StageClock::monarch();
    let question = (Cohort::LaidTheDayAfter, Stage::Larva1);
    let all = DAYS.map(constant).map(|days| next_visit(&clock, from, question, &days).ok());
    let [cool, warm, hot] = all.map(Option::unwrap_or_default);
    let rows = cool.iter().zip(&warm).zip(&hot);
    let chances: Vec<ChanceRow> = rows
        .map(|((cool, warm), hot)| ChanceRow {
            days: warm.days,
            date: warm.date,
            chance: [cool.chance.value, warm.chance.value, hot.chance.value],
        })
        .collect();
    let assumed = warm.first()?.chance.assumed.iter().map(|id: &MessageId| Message::new(id.name())).collect();
    let on = falls_below(&clock, from, question, &constant(25.0), SHARE).ok().flatten();
    let line = |row: &ChanceRow| {
        Message::new("phone.season.chance")
            .with("days", Argument::Number(row.days))
            .with("date", Argument::Date(row.date))
            .with("cool", Argument::Percent(row.chance[0]))
            .with("warm", Argument::Percent(row.chance[1]))
            .with("hot", Argument::Percent(row.chance[2]))
    };
    let first = on.map(|on| Message::new("phone.season.come-again").with("date", Argument::Date(on)));
    let lines = first.into_iter().chain(chances.iter().map(line)).collect();
    Some(ComeAgainView { from, on, chances, lines, assumed })
}

/// Until when eggs laid on this day are in each stage.
pub(super) fn expect(laid: Date) -> Vec<ExpectRow> {
    let clock = StageClock::monarch();
    let ends = |celsius| stage_dates(&clock, laid, &constant(celsius), Level::P95).ok();
    let (Some(hot), Some(cool)) = (ends(DAYS[2]), ends(DAYS[0])) else { return Vec::new() };
    let date = |reached: &Reached| match reached {
        Reached::On { date, .. } => Some(*date),
        Reached::NotBy { .. } => None,
    };
    let rows = hot.ends.iter().zip(&cool.ends);
    rows.map(|(hot, cool)| ExpectRow { stage: hot.stage, ends: [date(&hot.typical), date(&cool.typical)] }).collect()
}

/// Days that are so warm throughout, the whole year.
fn constant(celsius: f64) -> Temperatures {
    let days = (1..=12).zip(MONTHS).flat_map(|(month, days)| (1..=days).map(move |day| (month, day)));
    let day = Day::new(Celsius(celsius), Celsius(celsius));
    let normals: Normals = days.filter_map(|key| Some((key, day?))).collect();
    Temperatures::new(Weather::default(), Some(normals))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: at 25 °C a day has 13.5 degree-days, so that larva 1 ends 77.3 ÷ 13.5 = 5.7 days after laying (durations
    /// as in `season::clock`); eggs of the day after a visit are 5.5 to 6.5 days old at midday of the seventh day, which
    /// leaves about three in ten young.
    #[test]
    fn a_week_at_25_degrees_leaves_about_three_in_ten_of_a_cohort_young() {
        let from = Date::try_from("2026-07-04".to_owned()).unwrap();
        let view = come_again(from).unwrap();
        let row = |days| view.chances.iter().find(|row| row.days == days).unwrap();
        assert!((row(7).chance[1] - 0.3).abs() < 0.1, "{:?}", row(7));
        assert!(row(3).chance[1] > 0.99 && row(10).chance[1] < 0.01);
        assert!(row(7).chance[0] > row(7).chance[1] && row(7).chance[1] > row(7).chance[2]);
        let wait = view.on.map(|on| (on.naive() - from.naive()).num_days());
        assert_eq!(wait, Some(7), "the first day on which fewer than half are young");
    }

    /// The trade's rule of thumb: eggs hatch in 3 to 8 days (common practice, no source).
    #[test]
    fn eggs_end_within_the_rule_of_thumb_and_stages_follow_one_another() {
        let laid = Date::try_from("2026-07-04".to_owned()).unwrap();
        let rows = expect(laid);
        let days = |date: Option<Date>| (date.unwrap().naive() - laid.naive()).num_days();
        assert!((2..=8).contains(&days(rows[0].ends[0])) && (3..=8).contains(&days(rows[0].ends[1])), "{:?}", rows[0]);
        assert!(rows.windows(2).all(|two| two[0].ends[0] <= two[1].ends[0] && two[0].ends[0] <= two[0].ends[1]));
    }
}
