//! French marks keep their space, so that no line begins with a colon or a question mark.
//!
//! Common practice of French printing, as the Imprimerie nationale's *Lexique des règles typographiques* gives it (from
//! memory): a narrow no-break space before `;`, `!` and `?`, a no-break space before `:`, before `%`, and within « ».
//! The Office québécois de la langue française asks for the same where narrow spaces can be had (from memory).

use messages::{Language, ids, message};

const NO_BREAK: char = '\u{a0}';
const NARROW: char = '\u{202f}';

/// What is wrong with the spaces of a French text.
fn faults(text: &str) -> Vec<String> {
    let letters: Vec<char> = text.chars().collect();
    let said = |at: usize| letters[at.saturating_sub(8)..(at + 4).min(letters.len())].iter().collect::<String>();
    let wanted = |at: usize| match letters[at] {
        ';' | '!' | '?' => Some((at.checked_sub(1), NARROW)),
        // A colon between digits or in an address belongs to no sentence.
        ':' if letters.get(at + 1).is_none_or(|next| next.is_whitespace()) => Some((at.checked_sub(1), NO_BREAK)),
        '»' | '%' => Some((at.checked_sub(1), NO_BREAK)),
        '«' => Some((Some(at + 1), NO_BREAK)),
        _ => None,
    };
    (0..letters.len())
        .filter_map(|at| wanted(at).map(|(beside, space)| (at, beside.and_then(|beside| letters.get(beside)), space)))
        .filter(|(_, beside, space)| *beside != Some(space))
        .map(|(at, ..)| said(at))
        .collect()
}

#[test]
fn every_french_mark_keeps_its_space() {
    for id in ids() {
        for text in message(id).unwrap().forms(Language::Fr).all() {
            assert!(faults(text).is_empty(), "{id}: {:?}", faults(text));
        }
    }
}

/// Only French sets its marks apart.
#[test]
fn other_languages_have_no_space_before_a_mark() {
    for id in ids() {
        for language in [Language::En, Language::Es] {
            for text in message(id).unwrap().forms(language).all() {
                let apart = [" :", " ;", " ?", " !"].iter().any(|mark| text.contains(mark)) || text.contains(NARROW);
                assert!(!apart, "{id} in {language:?}: {text}");
            }
        }
    }
}

#[test]
fn a_wrong_space_is_seen() {
    let wrong = [
        "ici : là",
        "ici\u{202f}: là",
        "ici: là",
        "ici ; là",
        "ici;",
        "où ?",
        "où\u{a0}?",
        "« ici\u{a0}»",
        "95 %",
        ": là",
    ];
    for text in wrong {
        assert!(!faults(text).is_empty(), "{text}");
    }
    for text in [
        "ici\u{a0}: là",
        "à 12:30",
        "ici\u{202f}; là",
        "où\u{202f}?",
        "«\u{a0}ici\u{a0}»",
        "95\u{a0}%",
        "https://station",
    ] {
        assert!(faults(text).is_empty(), "{text}: {:?}", faults(text));
    }
}
