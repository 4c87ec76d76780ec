//! Comma-separated values as RFC 4180 has them, each with its place.
//!
//! The crates that read CSV give the place of a record but not of a field, which is what a person looks for.

use super::source::{At, Source};
use crate::command::season::fault::SeasonFault;

/// A field with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) text: String,
    pub(super) at: At,
}

/// All records that are not blank.
pub(super) fn records(source: &Source) -> Result<Vec<Vec<Cell>>, SeasonFault> {
    let mut reader = Reader { letters: source.text().chars().peekable(), at: At { line: 1, column: 1 } };
    let mut records = Vec::new();
    while reader.letters.peek().is_some() {
        let record = reader.record(source)?;
        if record.iter().any(|cell| !cell.text.is_empty()) {
            records.push(record);
        }
    }
    Ok(records)
}

struct Reader<'a> {
    letters: std::iter::Peekable<std::str::Chars<'a>>,
    at: At,
}

impl Reader<'_> {
    fn next(&mut self) -> Option<char> {
        let letter = self.letters.next()?;
        if letter == '\n' {
            self.at = At { line: self.at.line + 1, column: 1 };
        } else {
            self.at.column += 1;
        }
        Some(letter)
    }

    fn record(&mut self, source: &Source) -> Result<Vec<Cell>, SeasonFault> {
        let mut cells = Vec::new();
        loop {
            let at = self.at;
            let text = if self.letters.peek() == Some(&'"') { self.quoted(source)? } else { self.plain() };
            cells.push(Cell { text: text.trim().to_owned(), at });
            match self.next() {
                Some(',') => {}
                Some('\r') if self.letters.peek() == Some(&'\n') => {
                    self.next();
                    return Ok(cells);
                }
                Some('\n' | '\r') | None => return Ok(cells),
                Some(_) => return Err(source.fault(at, "after a closing quote only a comma or a new line may follow")),
            }
        }
    }

    fn plain(&mut self) -> String {
        let mut text = String::new();
        while let Some(letter) = self.letters.next_if(|letter| !matches!(letter, ',' | '\n' | '\r')) {
            self.at.column += 1;
            text.push(letter);
        }
        text
    }

    fn quoted(&mut self, source: &Source) -> Result<String, SeasonFault> {
        let opened = self.at;
        let mut text = String::new();
        self.next();
        loop {
            match self.next() {
                Some('"') if self.letters.peek() == Some(&'"') => {
                    self.next();
                    text.push('"');
                }
                Some('"') => return Ok(text),
                Some(letter) => text.push(letter),
                None => return Err(source.fault(opened, "this quote is never closed")),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Plain = (String, usize, usize);

    fn read(text: &str) -> Result<Vec<Vec<Plain>>, SeasonFault> {
        let source = Source::of("x".into(), text.as_bytes().to_vec())?;
        let plain = |cell: Cell| (cell.text, cell.at.line, cell.at.column);
        Ok(records(&source)?.into_iter().map(|record| record.into_iter().map(plain).collect()).collect())
    }

    #[test]
    fn fields_know_their_place() {
        let cell = |text: &str, line, column| (text.to_owned(), line, column);
        let found = read("\u{feff}a, \"b, \"\"c\"\"\",é\r\n\n1,,3").unwrap();
        // A field that opens with a space is plain, so its quote is a letter like others.
        assert_eq!(found[0][0], cell("a", 1, 1));
        assert_eq!(found[1], [cell("1", 3, 1), cell("", 3, 3), cell("3", 3, 4)]);
        assert_eq!(read("\"x\ny\",2").unwrap(), [vec![cell("x\ny", 1, 1), cell("2", 2, 4)]]);
        assert!(read("1,\"2").unwrap_err().to_string().contains("line 1, column 3"));
        assert!(read("\"2\"x").is_err());
    }
}
