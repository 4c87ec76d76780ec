//! Numbers as people write them. Files never go through here: they have `.` and no groups, whatever the language.

use crate::Language;

/// A whole number with its thousands set apart, from five digits on.
pub fn integer(language: Language, number: u64) -> String {
    grouped(language, &number.to_string())
}

/// A number with so many decimals, 0 to 6; what is not finite is a dash.
pub fn decimal(language: Language, number: f64, decimals: usize) -> String {
    if !number.is_finite() {
        return "–".into();
    }
    let text = format!("{number:.*}", decimals.min(6));
    let (sign, text) = text.strip_prefix('-').map_or(("", text.as_str()), |rest| ("−", rest));
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let sign = if text.bytes().all(|digit| matches!(digit, b'0' | b'.')) { "" } else { sign };
    let whole = grouped(language, whole);
    let mark = language.decimal_mark();
    if fraction.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}{mark}{fraction}") }
}

/// A share, 0 to 1, in percent.
pub fn percent(language: Language, share: f64, decimals: usize) -> String {
    let number = decimal(language, share * 100.0, decimals);
    match language {
        Language::En | Language::Es => format!("{number}%"),
        Language::Fr => format!("{number}\u{a0}%"),
    }
}

fn grouped(language: Language, digits: &str) -> String {
    if digits.len() < 5 {
        return digits.into();
    }
    let mark = match language {
        Language::En | Language::Es => ",",
        Language::Fr => "\u{a0}",
    };
    let first = digits.len() % 3;
    let (head, rest) = digits.split_at(first);
    let groups = (0..rest.len()).step_by(3).map(|at| &rest[at..at + 3]);
    std::iter::once(head).filter(|head| !head.is_empty()).chain(groups).collect::<Vec<_>>().join(mark)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Marks by Unicode CLDR for en, es-MX and fr-CA (from memory); grouping only from five digits is this project's.
    #[test]
    fn numbers_look_as_their_readers_write_them() {
        assert_eq!(decimal(Language::En, 1234.5, 2), "1234.50");
        assert_eq!(decimal(Language::Es, 12_345.678, 1), "12,345.7");
        assert_eq!(decimal(Language::Fr, 12_345.678, 1), "12\u{a0}345,7");
        assert_eq!(decimal(Language::Fr, -0.004, 2), "0,00");
        assert_eq!(decimal(Language::En, -3.0, 0), "−3");
        assert_eq!(decimal(Language::En, f64::NAN, 2), "–");
        assert_eq!(integer(Language::En, 1_234_567), "1,234,567");
        assert_eq!(percent(Language::Fr, 0.125, 1), "12,5\u{a0}%");
        assert_eq!(percent(Language::Es, 1.0, 0), "100%");
    }
}
