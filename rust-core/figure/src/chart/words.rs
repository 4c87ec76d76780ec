//! Words of these charts.

use crate::words::{Words, english};

/// Words of one language, beside those that all figures need. Templates hold places in braces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChartWords {
    /// What all figures need.
    pub words: Words,
    /// Title of a succession.
    pub succession_title: String,
    /// Under it: how wide a band is.
    pub succession_note: String,
    /// Axis of days that have no date.
    pub axis_day: String,
    /// A day without a date: `{day}`.
    pub day: String,
    /// One stage's finding: `{stage}`, `{day}`, `{value}`.
    pub succession_says: String,
    /// A stage without animals: `{stage}`.
    pub succession_none: String,
    /// Title of heat over days.
    pub heat_title: String,
    /// Axis of it.
    pub heat_axis: String,
    /// Axis of its dates.
    pub axis_date: String,
    /// What a dashed stretch is.
    pub heat_gap: String,
    /// The finding: `{sum}`, `{first}`, `{last}`.
    pub heat_says: String,
    /// A stage that is over: `{stage}`, `{date}`.
    pub heat_ends: String,
    /// The end of a stage, beside its line: `{stage}`.
    pub heat_band: String,
    /// Title of stop lines.
    pub stop_title: String,
    /// Its axes.
    pub stop_axis_plants: String,
    /// See above.
    pub stop_axis_animals: String,
    /// Legends: the line, both lines of a test, the count so far.
    pub stop_line: String,
    /// Line above which a mean counts as high.
    pub stop_high: String,
    /// Line below which a mean counts as low.
    pub stop_low: String,
    /// The running count.
    pub stop_running: String,
    /// Findings: stopped at `{plants}` with `{animals}`.
    pub stop_says_at: String,
    /// Not yet, after `{plants}` with `{animals}`.
    pub stop_says_not_yet: String,
    /// No count yet: needs `{animals}` on `{plants}`.
    pub stop_says_line: String,
    /// A test that says high, low, or goes on, after `{plants}` with `{animals}`.
    pub stop_says_high: String,
    /// See above.
    pub stop_says_low: String,
    /// Title of a confusion matrix of shares.
    pub confusion_title: String,
    /// Title of one of two observers.
    pub confusion_title_two: String,
    /// What rows and columns are.
    pub confusion_rows: String,
    /// See above.
    pub confusion_columns: String,
    /// The same for two observers.
    pub confusion_first: String,
    /// See above.
    pub confusion_second: String,
    /// What the squares say.
    pub confusion_note: String,
    /// Finding: `{share}` on the diagonal.
    pub confusion_says: String,
    /// The greatest mistake: `{from}`, `{to}`, `{value}`.
    pub confusion_worst: String,
    /// A class without a name: `{number}`.
    pub class: String,
    /// Title of a course of years.
    pub years_title: String,
    /// Title of indices over sites.
    pub years_title_index: String,
    /// Axis.
    pub years_axis: String,
    /// Axis of values, and of indices.
    pub years_axis_value: String,
    /// See above.
    pub years_axis_index: String,
    /// Legend of the line by medians.
    pub years_line: String,
    /// Finding: `{years}`, `{first}`, `{last}`, `{low}`, `{low_year}`, `{high}`, `{high_year}`.
    pub years_says: String,
}

/// English.
pub fn english_charts() -> ChartWords {
    let text = str::to_owned;
    ChartWords {
        words: english(),
        succession_title: text("How the stages follow one another"),
        succession_note: text(
            "Each band is as wide as the count; its widest place has the number. Thin line: none found.",
        ),
        axis_day: text("Day of the season"),
        day: text("day {day}"),
        succession_says: text("{stage}: most on {day}, with {value}."),
        succession_none: text("{stage}: none."),
        heat_title: text("Heat summed over days"),
        heat_axis: text("Degree-days, °C"),
        axis_date: text("Date"),
        heat_gap: text("dashed: days without a measurement"),
        heat_says: text("{sum} degree-days from {first} to {last}."),
        heat_ends: text("{stage} ends on {date}."),
        heat_band: text("end of {stage}"),
        stop_title: text("When to stop counting"),
        stop_axis_plants: text("Plants checked"),
        stop_axis_animals: text("Animals counted"),
        stop_line: text("stop when the count reaches this line"),
        stop_high: text("above this line: many"),
        stop_low: text("below this line: few"),
        stop_running: text("counted so far"),
        stop_says_at: text("The count reached the line at plant {plants}, with {animals} animals."),
        stop_says_not_yet: text("After {plants} plants and {animals} animals the count has not reached the line."),
        stop_says_line: text("On {plants} plants it takes {animals} animals to stop."),
        stop_says_high: text("After {plants} plants and {animals} animals: many."),
        stop_says_low: text("After {plants} plants and {animals} animals: few."),
        confusion_title: text("What is recorded for what"),
        confusion_title_two: text("Two observers, thing by thing"),
        confusion_rows: text("Rows: what it truly was"),
        confusion_columns: text("Columns: what was recorded"),
        confusion_first: text("Rows: the first observer"),
        confusion_second: text("Columns: the second observer"),
        confusion_note: text("The fuller the square, the larger its share of the row."),
        confusion_says: text("{share} % lie where both agree."),
        confusion_worst: text("Taken for another most often: {from} as {to}, {value}."),
        class: text("class {number}"),
        years_title: text("Year by year"),
        years_title_index: text("Year by year, against the first year"),
        years_axis: text("Year"),
        years_axis_value: text("Value"),
        years_axis_index: text("Density, first year = 1"),
        years_line: text("line by medians (Theil-Sen)"),
        years_says: text("{years} years, {first} to {last}: least {low} in {low_year}, most {high} in {high_year}."),
    }
}
