//! Words in the chosen language.

use handset::views::{Argument, Message};
use messages::{Arg, Language, say};
use survey::date::Date;
use survey::stage::What;
use survey::time::{OffsetMinutes, UnixMs};

/// Speaks one language.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Voice {
    pub(crate) language: Language,
    /// Of local time.
    pub(crate) offset: OffsetMinutes,
}

impl Voice {
    /// The language of a tag such as `es-MX`; English for every other.
    pub(crate) fn of(tag: &str, offset: OffsetMinutes) -> Self {
        Self { language: Language::of_tag(tag).unwrap_or_default(), offset }
    }

    pub(crate) fn plain(self, id: &str) -> String {
        say(self.language, id, &[])
    }

    pub(crate) fn say(self, id: &str, arguments: &[(&str, Arg<'_>)]) -> String {
        say(self.language, id, arguments)
    }

    pub(crate) fn counted(self, id: &str, number: u64) -> String {
        say(self.language, id, &[("number", number.into())])
    }

    pub(crate) fn what(self, what: &What) -> String {
        messages::words::what(self.language, what)
    }

    /// One thing or another, as a sentence has it.
    pub(crate) fn either(self, first: String, second: String) -> String {
        self.say("list.or", &[("first", first.into()), ("second", second.into())])
    }

    /// A message of the handset.
    pub(crate) fn message(self, message: &Message) -> String {
        let worded: Vec<(&str, Arg<'_>)> =
            message.arguments.iter().map(|(name, argument)| (*name, self.argument(argument))).collect();
        self.say(&message.id, &worded)
    }

    /// The day that local time had then.
    pub(crate) fn day(self, at: UnixMs) -> String {
        at.local_date(self.offset).map_or_else(|| self.plain("visit.not-known"), |date| self.date(date.into()))
    }

    /// A date.
    pub(crate) fn date(self, date: Date) -> String {
        let date = date.naive();
        let months = self.plain("figure.months");
        let number = |format: &str| date.format(format).to_string().parse::<usize>().unwrap_or(1);
        let month = months.split(' ').nth(number("%m") - 1).unwrap_or("–");
        let day = number("%d").to_string();
        self.say(
            "figure.date-with-year",
            &[("day", day.into()), ("month", month.into()), ("year", number("%Y").to_string().into())],
        )
    }

    fn argument(self, argument: &Argument) -> Arg<'static> {
        match argument {
            Argument::Number(number) => (*number).into(),
            Argument::Signed(number) => number.to_string().into(),
            Argument::What(what) => self.what(what).into(),
            // A word that has no entry of its own is one of those that messages choose by.
            Argument::Word(word) if messages::knows(word) => self.plain(word).into(),
            Argument::Word(word) | Argument::Text(word) => word.clone().into(),
            Argument::Decimal(number, decimals) => messages::decimal(self.language, *number, *decimals).into(),
            Argument::Percent(share) => messages::percent(self.language, *share, 0).into(),
            Argument::Date(date) => self.date(*date).into(),
            Argument::Numbers(numbers) => numbers.iter().map(u64::to_string).collect::<Vec<_>>().join(", ").into(),
        }
    }
}
