//! The catalogue, and filling in its placeholders.

use crate::Language;
use crate::number::integer;
use std::borrow::Cow;
use std::sync::LazyLock;

/// A message in all languages.
#[derive(Debug, Clone)]
pub struct Message {
    /// The placeholder that chooses between one and other.
    pub count: Option<&'static str>,
    en: Forms,
    es: Forms,
    fr: Forms,
}

/// The words of a message in one language.
#[derive(Debug, Clone, Copy)]
pub enum Forms {
    /// One form for every number, or no number at all.
    Single(&'static str),
    /// A form for one and a form for other numbers.
    Plural {
        /// For what the language treats as one.
        one: &'static str,
        /// For all else.
        other: &'static str,
    },
}

/// An argument of a message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Arg<'a> {
    /// Words, as they are.
    Text(Cow<'a, str>),
    /// A count, which may choose the plural form.
    Count(u64),
}

/// What `build.rs` made of the files: messages in order of their ids, each a line of fields.
const TEXT: &str = include_str!(concat!(env!("OUT_DIR"), "/catalogue.txt"));

static CATALOGUE: LazyLock<Vec<(&'static str, Message)>> = LazyLock::new(|| TEXT.split('\u{1e}').map(read).collect());

/// The words of a message. An id that the catalogue lacks is shown as itself, a placeholder without argument stays.
pub fn say(language: Language, id: &str, args: &[(&str, Arg<'_>)]) -> String {
    let Some(message) = message(id) else {
        return id.into();
    };
    let number = message.count.and_then(|name| {
        args.iter().find_map(|(own, arg)| match arg {
            Arg::Count(number) if *own == name => Some(*number),
            Arg::Count(_) | Arg::Text(_) => None,
        })
    });
    let words = match message.forms(language) {
        Forms::Single(words) => words,
        Forms::Plural { one, .. } if number.is_some_and(|number| language.is_one(number)) => one,
        Forms::Plural { other, .. } => other,
    };
    filled(language, words, args)
}

/// Every id, in order.
pub fn ids() -> impl Iterator<Item = &'static str> {
    CATALOGUE.iter().map(|(id, _)| *id)
}

/// The message of this id.
pub fn message(id: &str) -> Option<&'static Message> {
    let at = CATALOGUE.binary_search_by_key(&id, |(own, _)| own).ok()?;
    CATALOGUE.get(at).map(|(_, message)| message)
}

/// Whether the catalogue has this id.
pub fn knows(id: &str) -> bool {
    message(id).is_some()
}

impl Message {
    /// Its words in a language.
    pub const fn forms(&self, language: Language) -> &Forms {
        match language {
            Language::En => &self.en,
            Language::Es => &self.es,
            Language::Fr => &self.fr,
        }
    }
}

impl Forms {
    /// Every form.
    pub fn all(&self) -> Vec<&'static str> {
        match self {
            Self::Single(words) => vec![words],
            Self::Plural { one, other } => vec![one, other],
        }
    }
}

impl<'a> From<&'a str> for Arg<'a> {
    fn from(text: &'a str) -> Self {
        Self::Text(Cow::Borrowed(text))
    }
}

impl<'a> From<&'a String> for Arg<'a> {
    fn from(text: &'a String) -> Self {
        Self::Text(Cow::Borrowed(text))
    }
}

impl From<String> for Arg<'_> {
    fn from(text: String) -> Self {
        Self::Text(Cow::Owned(text))
    }
}

impl From<u64> for Arg<'_> {
    fn from(number: u64) -> Self {
        Self::Count(number)
    }
}

impl From<u32> for Arg<'_> {
    fn from(number: u32) -> Self {
        Self::Count(number.into())
    }
}

impl From<usize> for Arg<'_> {
    fn from(number: usize) -> Self {
        Self::Count(u64::try_from(number).unwrap_or(u64::MAX))
    }
}

/// A line of the text. Where it ends too early, words are empty, which a test would see.
fn read(line: &'static str) -> (&'static str, Message) {
    let mut fields = line.split('\u{1f}');
    let mut next = || fields.next().unwrap_or_default();
    let (id, count) = (next(), Some(next()).filter(|count| !count.is_empty()));
    let mut forms = || match count {
        None => Forms::Single(next()),
        Some(_) => Forms::Plural { one: next(), other: next() },
    };
    (id, Message { count, en: forms(), es: forms(), fr: forms() })
}

/// Puts the arguments in. What an argument holds is never read for placeholders again.
fn filled(language: Language, words: &str, args: &[(&str, Arg<'_>)]) -> String {
    let mut out = String::with_capacity(words.len() + 16);
    let mut rest = words;
    while let Some((before, after)) = rest.split_once('{') {
        out.push_str(before);
        let Some((name, behind)) = after.split_once('}') else {
            out.push('{');
            rest = after;
            continue;
        };
        match args.iter().find(|(own, _)| *own == name) {
            Some((_, Arg::Text(text))) => out.push_str(text),
            Some((_, Arg::Count(number))) => out.push_str(&integer(language, *number)),
            None => {
                out.push('{');
                out.push_str(name);
                out.push('}');
            }
        }
        rest = behind;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn placeholders(words: &str) -> BTreeSet<&str> {
        words.split('{').skip(1).filter_map(|part| part.split_once('}')).map(|(name, _)| name).collect()
    }

    #[test]
    fn every_message_has_words_and_the_same_placeholders_everywhere() {
        assert!(ids().count() > 300);
        for id in ids() {
            let message = message(id).unwrap();
            let wanted = placeholders(message.en.all()[0]);
            for language in Language::ALL {
                for words in message.forms(language).all() {
                    assert!(!words.trim().is_empty(), "{id} is empty in {language:?}");
                    assert_eq!(placeholders(words), wanted, "{id} in {language:?}");
                }
            }
            if let Some(count) = message.count {
                assert!(wanted.contains(count), "{id} counts {count}, which is not in it");
            }
        }
    }

    /// Plural rules of Unicode CLDR: French has 0 as one, English and Spanish do not.
    #[test]
    fn eggs_are_counted_as_each_language_does() {
        let eggs = |language| [0_u64, 1, 2].map(|number| say(language, "count.eggs", &[("number", number.into())]));
        assert_eq!(eggs(Language::En), ["0 eggs", "1 egg", "2 eggs"]);
        assert_eq!(eggs(Language::Es), ["0 huevos", "1 huevo", "2 huevos"]);
        assert_eq!(eggs(Language::Fr), ["0 œuf", "1 œuf", "2 œufs"]);
        assert_eq!(say(Language::Fr, "count.eggs", &[("number", 1_000_000_u64.into())]), "1\u{a0}000\u{a0}000 œufs");
    }

    #[test]
    fn an_unknown_id_is_shown_as_itself() {
        assert_eq!(say(Language::Es, "finding.from-a-newer-version", &[]), "finding.from-a-newer-version");
    }

    #[test]
    fn arguments_are_not_read_for_placeholders() {
        let site = [("site", "{date} <b>".into()), ("date", "2026-06-01".into())];
        assert_eq!(say(Language::En, "season.title", &site), "Season at {date} <b>");
        assert_eq!(say(Language::En, "season.title", &[]), "Season at {site}");
    }
}
