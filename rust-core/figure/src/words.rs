//! The words that figures need, given by whoever wants one.

use season::{Interval, Measure, MessageId, ShareOf, id};
use survey::date::Date;
use survey::protocol::Unit;
use survey::stage::Stage;

/// Words of one language. Templates hold places in braces; a template may leave a place out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    /// Names of the stages, in the order of [`Stage::ALL`].
    pub stages: [String; 8],
    /// What is undecided between several outcomes.
    pub undecided: String,
    /// Short names of the months.
    pub months: [String; 12],
    /// A date: `{day}`, `{month}`.
    pub date: String,
    /// A date with its year: `{day}`, `{month}`, `{year}`.
    pub date_with_year: String,
    /// The mark between whole and decimals.
    pub decimal_mark: char,
    /// One stem, and several.
    pub stem: (String, String),
    /// One clump, and several.
    pub clump: (String, String),
    /// Title of a curve of densities: `{place}`, `{unit}`.
    pub title_per_unit: String,
    /// Title of a curve of totals: `{place}`.
    pub title_totals: String,
    /// Title of a composition: `{place}`.
    pub title_composition: String,
    /// Under the title of densities.
    pub note_counted: String,
    /// Under the title of totals.
    pub note_totals: String,
    /// Under the title of compositions.
    pub note_composition: String,
    /// Where the observer chose the plants.
    pub note_observers_choice: String,
    /// Where nobody wrote down how plants were chosen.
    pub note_choice_not_stated: String,
    /// Under a curve whose first panel has a scale of its own.
    pub note_scales: String,
    /// Axis of densities: `{unit}`.
    pub axis_per_unit: String,
    /// Axis of totals.
    pub axis_totals: String,
    /// Axis of shares.
    pub axis_share: String,
    /// Axis of dates.
    pub axis_date: String,
    /// Marker of a mean: `{level}` in percent.
    pub legend_mean: String,
    /// Marker of a share of occupied units: `{units}`, `{level}`.
    pub legend_occupancy: String,
    /// Marker of a total.
    pub legend_total: String,
    /// Marker of what it would be if all undecided things were of the stage.
    pub legend_undecided: String,
    /// What a missing mark means.
    pub legend_gaps: String,
    /// What the numbers above bars are.
    pub legend_numbers: String,
    /// Opening of a description: `{visits}`, `{first}`, `{last}`.
    pub says_span: String,
    /// Peak of densities: `{stage}`, `{value}`, `{unit}`, `{interval}`, `{date}`.
    pub says_peak_mean: String,
    /// Peak that is a share of occupied units: `{stage}`, `{value}`, `{units}`, `{interval}`, `{date}`.
    pub says_peak_occupancy: String,
    /// Peak of totals: `{stage}`, `{value}`, `{total}`, `{date}`.
    pub says_peak_total: String,
    /// A stage that was looked for and not found: `{stage}`.
    pub says_none: String,
    /// Undecided things: `{stage}`, `{number}`.
    pub says_undecided: String,
    /// An interval: `{low}`, `{high}`, `{level}`.
    pub says_interval: String,
    /// One visit's composition: `{date}`, `{things}`, `{parts}`.
    pub says_composition: String,
    /// One visit without anything: `{date}`.
    pub says_nothing: String,
}

/// English.
pub fn english() -> Words {
    Words {
        stages: ["egg", "larva 1", "larva 2", "larva 3", "larva 4", "larva 5", "larva, instar not judged", "pupa"]
            .map(str::to_owned),
        undecided: "undecided".into(),
        months: ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"].map(str::to_owned),
        date: "{day} {month}".into(),
        date_with_year: "{day} {month} {year}".into(),
        decimal_mark: '.',
        stem: ("stem".into(), "stems".into()),
        clump: ("clump".into(), "clumps".into()),
        title_per_unit: "{place}: animals per {unit}, counted".into(),
        title_totals: "{place}: sample totals, effort unknown".into(),
        title_composition: "{place}: stages counted at each visit".into(),
        note_counted: "Not corrected for animals that nobody saw.".into(),
        note_totals: "Animals counted. How many plants were checked is not known, so visits may not compare.".into(),
        note_composition: "Living animals and undecided things as counted, not corrected for what nobody saw.".into(),
        note_observers_choice: "Plants were the observer's choice, no random sample.".into(),
        note_choice_not_stated: "How plants were chosen was not recorded.".into(),
        note_scales: "Eggs have their own scale; the others share one.".into(),
        axis_per_unit: "Animals per {unit}".into(),
        axis_totals: "Animals in the sample".into(),
        axis_share: "Share of all things counted, %".into(),
        axis_date: "Date of visit".into(),
        legend_mean: "mean, with {level}\u{a0}% interval".into(),
        legend_occupancy: "below 5 animals: share of {units} occupied, with {level}\u{a0}% interval".into(),
        legend_total: "animals counted".into(),
        legend_undecided: "if all undecided were of this stage".into(),
        legend_gaps: "No mark: the stage was not looked for, or the sample carries no figure.".into(),
        legend_numbers: "Above bars: number of things counted.".into(),
        says_span: "Visits: {visits}, from {first} to {last}.".into(),
        says_peak_mean: "{stage}: highest on {date}, {value} per {unit}{interval}.".into(),
        says_peak_occupancy: "{stage}: highest on {date}, found on {value} of {units}{interval}.".into(),
        says_peak_total: "{stage}: {total} in all, most on {date} with {value}.".into(),
        says_none: "{stage}: looked for, none found.".into(),
        says_undecided: "{stage}: {number} undecided, not included.".into(),
        says_interval: " ({level}\u{a0}% interval {low} to {high})".into(),
        says_composition: "{date}, {things} counted: {parts}.".into(),
        says_nothing: "{date}: nothing found.".into(),
    }
}

impl Words {
    /// The words by the ids of their messages: those of figures, and the names of stages.
    pub fn from_texts(decimal_mark: char, mut text: impl FnMut(&str) -> String) -> Self {
        let months = text("figure.months");
        let mut months = months.split(' ').map(str::to_owned);
        Self {
            stages: Stage::ALL.map(|stage| match stage {
                Stage::Larva => text("figure.larva"),
                other => text(&format!("stage.{}", other.name())),
            }),
            undecided: text("undecided.any"),
            months: std::array::from_fn(|_| months.next().unwrap_or_default()),
            date: text("figure.date"),
            date_with_year: text("figure.date-with-year"),
            decimal_mark,
            stem: (text("figure.stem"), text("figure.stem-plural")),
            clump: (text("figure.clump"), text("figure.clump-plural")),
            title_per_unit: text("figure.title-per-unit"),
            title_totals: text("figure.title-totals"),
            title_composition: text("figure.title-composition"),
            note_counted: text("figure.note-counted"),
            note_totals: text("figure.note-totals"),
            note_composition: text("figure.note-composition"),
            note_observers_choice: text("figure.note-observers-choice"),
            note_choice_not_stated: text("figure.note-choice-not-stated"),
            note_scales: text("figure.note-scales"),
            axis_per_unit: text("figure.axis-per-unit"),
            axis_totals: text("figure.axis-totals"),
            axis_share: text("figure.axis-share"),
            axis_date: text("figure.axis-date"),
            legend_mean: text("figure.legend-mean"),
            legend_occupancy: text("figure.legend-occupancy"),
            legend_total: text("figure.legend-total"),
            legend_undecided: text("figure.legend-undecided"),
            legend_gaps: text("figure.legend-gaps"),
            legend_numbers: text("figure.legend-numbers"),
            says_span: text("figure.says-span"),
            says_peak_mean: text("figure.says-peak-mean"),
            says_peak_occupancy: text("figure.says-peak-occupancy"),
            says_peak_total: text("figure.says-peak-total"),
            says_none: text("figure.says-none"),
            says_undecided: text("figure.says-undecided"),
            says_interval: format!(" {}", text("figure.says-interval")),
            says_composition: text("figure.says-composition"),
            says_nothing: text("figure.says-nothing"),
        }
    }

    /// The name of a stage.
    pub fn stage(&self, stage: Stage) -> &str {
        let index = Stage::ALL.iter().position(|own| *own == stage).unwrap_or(0);
        &self.stages[index]
    }

    pub(crate) fn share_of(&self, of: ShareOf) -> &str {
        match of {
            ShareOf::Stage(stage) => self.stage(stage),
            ShareOf::Undecided => &self.undecided,
        }
    }

    /// A date without its year.
    pub fn day(&self, date: Date) -> String {
        self.fill_date(&self.date, date)
    }

    /// A date with its year.
    pub fn day_and_year(&self, date: Date) -> String {
        self.fill_date(&self.date_with_year, date)
    }

    /// A number with this many decimals and this language's decimal mark.
    pub fn number(&self, number: f64, decimals: usize) -> String {
        format!("{number:.decimals$}").replace('.', self.decimal_mark.encode_utf8(&mut [0; 4]))
    }

    pub(crate) const fn unit(&self, unit: Unit) -> &(String, String) {
        match unit {
            Unit::Stem => &self.stem,
            Unit::Clump => &self.clump,
        }
    }

    pub(crate) fn axis(&self, measure: Measure) -> String {
        match measure {
            Measure::PerUnit(unit) => fill(&self.axis_per_unit, &[("unit", &self.unit(unit).0)]),
            Measure::SampleTotals => self.axis_totals.clone(),
        }
    }

    pub(crate) fn interval(&self, interval: Option<Interval>, show: impl Fn(f64) -> String) -> String {
        interval.map_or_else(String::new, |interval| {
            fill(
                &self.says_interval,
                &[
                    ("low", &show(interval.low)),
                    ("high", &show(interval.high)),
                    ("level", &self.percent(interval.level.share())),
                ],
            )
        })
    }

    pub(crate) fn percent(&self, share: f64) -> String {
        let percent = share * 100.0;
        self.number(percent, usize::from((percent - percent.round()).abs() > 1e-9))
    }

    /// What stands under a title because of how plants were chosen.
    pub(crate) fn label(&self, label: MessageId) -> Option<&str> {
        if label == id::ASSUMED_OBSERVERS_CHOICE {
            Some(&self.note_observers_choice)
        } else if label == id::ASSUMED_CHOICE_NOT_STATED {
            Some(&self.note_choice_not_stated)
        } else {
            None
        }
    }

    fn fill_date(&self, template: &str, date: Date) -> String {
        // Written as YYYY-MM-DD with a year of four digits, by the type's own rule.
        let text = date.to_string();
        let month = text[5..7].parse::<usize>().map_or("", |month| &self.months[(month - 1).min(11)]);
        fill(template, &[("day", text[8..].trim_start_matches('0')), ("month", month), ("year", &text[..4])])
    }
}

/// The template with its places filled; what stands in braces and has no value stays as it is.
pub(crate) fn fill(template: &str, values: &[(&str, &str)]) -> String {
    let mut out = String::with_capacity(template.len());
    let mut rest = template;
    while let Some(open) = rest.find('{') {
        let (before, place) = rest.split_at(open);
        out.push_str(before);
        let found = place.find('}').and_then(|close| {
            let value = values.iter().find(|(name, _)| *name == &place[1..close])?;
            Some((value.1, close))
        });
        if let Some((value, close)) = found {
            out.push_str(value);
            rest = &place[close + 1..];
        } else {
            out.push('{');
            rest = &place[1..];
        }
    }
    out.push_str(rest);
    out
}

/// The text with its first letter in upper case.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn templates_are_filled_once() {
        assert_eq!(fill("{place}: {n} of {m}", &[("place", "{n}"), ("n", "3")]), "{n}: 3 of {m}");
        assert_eq!(fill("{", &[]), "{");
    }

    #[test]
    fn dates_and_numbers() {
        let words = Words { decimal_mark: ',', ..english() };
        let date = Date::try_from("2026-06-01".to_owned()).unwrap();
        assert_eq!((words.day(date), words.day_and_year(date)), ("1 Jun".to_owned(), "1 Jun 2026".to_owned()));
        assert_eq!(words.number(0.456, 2), "0,46");
        assert_eq!((words.percent(0.95), words.percent(0.999)), ("95".to_owned(), "99,9".to_owned()));
    }
}
