//! Estimated widths of text, and breaking it into lines.

use crate::shape::Weight;

/// Estimated width in figure units of a line of text of this size in a common sans-serif font.
///
/// The rule, in parts of the font's size: 0.32 for narrow marks (`i j l . , : ; ' | !`), 0.41 for space, `f`, `r`, `t`,
/// hyphen, slash and brackets, 0.64 for digits, 0.76 for upper-case letters, 0.98 for `m w M W % @ œ æ` and whatever is not
/// Latin, Greek or Cyrillic, 0.62 for the rest. These are close to the widest of the fonts that systems fall back on, so
/// that the estimate is too wide rather than too narrow. Bold text is taken as 1.13 times as wide.
pub fn text_width(text: &str, size: f64, weight: Weight) -> f64 {
    let heavier = match weight {
        Weight::Regular => 1.0,
        Weight::Bold => 1.13,
    };
    size * heavier * text.chars().map(em).sum::<f64>()
}

fn em(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' => 0.32,
        ' ' | NO_BREAK | NARROW | 'f' | 'r' | 't' | '-' | '/' | '(' | ')' | '[' | ']' => 0.41,
        'm' | 'w' | 'M' | 'W' | '%' | '@' | 'œ' | 'Œ' | 'æ' | 'Æ' => 0.98,
        letter if letter.is_ascii_digit() => 0.64,
        letter if letter.is_uppercase() => 0.76,
        letter if letter < '\u{0530}' || ('\u{2000}'..'\u{2070}').contains(&letter) => 0.62,
        _ => 0.98,
    }
}

/// Spaces at which no line is broken.
const NO_BREAK: char = '\u{a0}';
const NARROW: char = '\u{202f}';

/// The text in lines no wider than `width`, broken at spaces; a single word that is wider stays whole.
pub(crate) fn lines(text: &str, size: f64, weight: Weight, width: f64) -> Vec<String> {
    let wide = |text: &str| text_width(text, size, weight);
    let mut lines: Vec<String> = Vec::new();
    let breaks = |letter: char| letter.is_whitespace() && !matches!(letter, NO_BREAK | NARROW);
    for word in text.split(breaks).filter(|word| !word.is_empty()) {
        match lines.last_mut() {
            Some(line) if wide(line) + wide(" ") + wide(word) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_french_mark_stays_with_its_word() {
        let text = "Combien\u{202f}? Trois\u{a0}: ici";
        assert_eq!(lines(text, 12.0, Weight::Regular, 40.0), ["Combien\u{202f}?", "Trois\u{a0}:", "ici"]);
    }

    proptest! {
        #[test]
        fn breaking_loses_no_word_and_keeps_to_the_width(text in "[a-zA-Z ]{0,120}", width in 60.0_f64..400.0) {
            let lines = lines(&text, 12.0, Weight::Bold, width);
            let words: Vec<_> = text.split_whitespace().collect();
            prop_assert_eq!(lines.join(" "), words.join(" "));
            for line in &lines {
                prop_assert!(text_width(line, 12.0, Weight::Bold) <= width + 1e-9 || !line.contains(' '));
            }
        }
    }
}
