//! Sites from GPX that somebody else wrote.

use crate::limits::{FileError, MOST_FEATURES, MOST_LEVELS, MOST_POINTS, text};
use crate::sites_in::{FeatureError, Problem, SiteRead, SitesRead, name};
use quick_xml::Reader;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};
use survey::place::{Area, Pin, Place};

/// What becomes of tracks and routes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lines {
    /// They are listed as refused: most are walks and no outlines.
    Refuse,
    /// Each is the outline of a site, closed by a straight line from its end to its start.
    AsOutlines,
}

/// Sites from GPX ([1.1](https://www.topografix.com/GPX/1/1/), and 1.0 where it is the same): a waypoint becomes a pin
/// without radius and accuracy; a track or a route becomes an outline where that is asked for.
///
/// Unknown elements are passed over, and so are elevations and times. Names may hold character references and the five
/// entities of XML. Features are numbered from 0 in the order in which they begin.
///
/// # Errors
/// [`FileError`] where the file as a whole cannot be read: too large, no text, no XML, a document type, no GPX, or
/// more than [`MOST_POINTS`] points or [`MOST_FEATURES`] features; single features that cannot be used are listed in the result.
pub fn read_gpx(bytes: &[u8], lines: Lines) -> Result<SitesRead, FileError> {
    let text = text(bytes)?;
    let mut reader = Reader::from_str(text);
    let config = reader.config_mut();
    config.expand_empty_elements = true;
    config.check_comments = true;
    let mut file = File { text, lines, ..File::default() };
    loop {
        let from = offset(reader.buffer_position());
        let event = reader.read_event().map_err(|error| file.no_xml(offset(reader.error_position()), &error))?;
        match event {
            Event::Start(element) => file.open(&element, from)?,
            Event::End(_) => file.close(),
            Event::Text(part) => file.say(&part.xml10_content(), from)?,
            Event::CData(part) => file.say(&part.xml10_content(), from)?,
            Event::GeneralRef(entity) => file.refer(&entity, from)?,
            Event::DocType(_) => return Err(FileError::DocumentType { line: file.line(from) }),
            Event::Eof => return file.end(),
            // Without an opening there is none: empty elements are given as a start and an end.
            Event::Empty(_) | Event::Decl(_) | Event::PI(_) | Event::Comment(_) => {}
        }
    }
}

/// What has been read so far.
struct File<'t> {
    text: &'t str,
    /// How far lines have been counted, and the line there.
    counted: (usize, usize),
    lines: Lines,
    /// Names of the elements that are open, outermost first.
    open: Vec<String>,
    rooted: bool,
    points: usize,
    features: usize,
    draft: Option<Draft>,
    read: SitesRead,
}

/// A feature whose end has not come.
struct Draft {
    kind: Kind,
    line: usize,
    name: Option<String>,
    segments: usize,
    points: Vec<Result<Pin, Problem>>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Waypoint,
    Route,
    Track,
}

impl Default for File<'_> {
    fn default() -> Self {
        let read = SitesRead { sites: Vec::new(), refused: Vec::new() };
        Self {
            text: "",
            counted: (0, 1),
            lines: Lines::Refuse,
            open: Vec::new(),
            rooted: false,
            points: 0,
            features: 0,
            draft: None,
            read,
        }
    }
}

impl File<'_> {
    fn open(&mut self, element: &BytesStart<'_>, from: usize) -> Result<(), FileError> {
        let name = local(element);
        if self.open.len() == MOST_LEVELS {
            return Err(FileError::TooDeep { offset: from });
        }
        let outer: Vec<&str> = self.open.iter().map(String::as_str).collect();
        match (outer.as_slice(), name.as_str()) {
            ([], "gpx") if !self.rooted => self.rooted = true,
            ([], _) if self.rooted => return Err(self.no_xml(from, &"something stands behind the end")),
            ([], _) => return Err(FileError::NotGpx { found: name.chars().take(64).collect() }),
            (["gpx"], "wpt") => {
                self.begin(Kind::Waypoint, from)?;
                self.point(element, from)?;
            }
            (["gpx"], "rte") => self.begin(Kind::Route, from)?,
            (["gpx"], "trk") => self.begin(Kind::Track, from)?,
            (["gpx", "trk"], "trkseg") => self.segment(),
            (["gpx", "rte"], "rtept") | (["gpx", "trk", "trkseg"], "trkpt") => self.point(element, from)?,
            (["gpx", "wpt" | "rte" | "trk"], "name") => self.named(),
            _ => {}
        }
        self.open.push(name);
        Ok(())
    }

    fn close(&mut self) {
        self.open.pop();
        if self.open.len() == 1
            && let Some(draft) = self.draft.take()
        {
            let name = draft.name.as_ref().map(|name| name.trim().chars().take(64).collect());
            match draft.site(self.features, self.lines) {
                Ok(site) => self.read.sites.push(site),
                Err(problem) => self.read.refused.push(FeatureError { feature: self.features, name, problem }),
            }
            self.features += 1;
        }
    }

    fn begin(&mut self, kind: Kind, from: usize) -> Result<(), FileError> {
        if self.features == MOST_FEATURES {
            return Err(FileError::TooManyFeatures { offset: from });
        }
        let line = self.line_on(from);
        self.draft = Some(Draft { kind, line, name: None, segments: 0, points: Vec::new() });
        Ok(())
    }

    fn segment(&mut self) {
        if let Some(draft) = &mut self.draft {
            draft.segments += 1;
        }
    }

    /// Of several names the last holds.
    fn named(&mut self) {
        if let Some(draft) = &mut self.draft {
            draft.name = Some(String::new());
        }
    }

    fn point(&mut self, element: &BytesStart<'_>, from: usize) -> Result<(), FileError> {
        let line = self.line_on(from);
        self.points += 1;
        if self.points > MOST_POINTS {
            return Err(FileError::TooManyPoints { line });
        }
        if let Some(draft) = &mut self.draft {
            draft.points.push(pin(element, line));
        }
        Ok(())
    }

    fn say(&mut self, said: &str, from: usize) -> Result<(), FileError> {
        let outer: Vec<&str> = self.open.iter().map(String::as_str).collect();
        match outer.as_slice() {
            [] if !said.trim().is_empty() => Err(self.no_xml(from, &"text stands outside of every element")),
            ["gpx", "wpt" | "rte" | "trk", "name"] => {
                if let Some(name) = self.draft.as_mut().and_then(|draft| draft.name.as_mut()) {
                    name.push_str(said);
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn refer(&mut self, entity: &BytesRef<'_>, from: usize) -> Result<(), FileError> {
        let number = entity.resolve_char_ref().map_err(|error| self.no_xml(from, &error))?;
        if let Some(letter) = number {
            return self.say(letter.encode_utf8(&mut [0; 4]), from);
        }
        match resolve_predefined_entity(entity) {
            Some(letter) => self.say(letter, from),
            None => Err(self.no_xml(from, &"an entity that nothing defines")),
        }
    }

    fn end(self) -> Result<SitesRead, FileError> {
        match (self.rooted, self.open.last()) {
            (true, None) => Ok(self.read),
            (true, Some(_)) => Err(self.no_xml(self.text.len(), &"it ends in the middle")),
            (false, _) => Err(self.no_xml(self.text.len(), &"it has no element")),
        }
    }

    fn no_xml(&self, at: usize, what: &dyn std::fmt::Display) -> FileError {
        // Parsers quote what they found, which may be as long as the file.
        FileError::NotXml { line: self.line(at), what: what.to_string().chars().take(200).collect() }
    }

    /// The line of an octet not before those asked for earlier, from 1: all of a file is counted through once.
    fn line_on(&mut self, at: usize) -> usize {
        let (from, line) = self.counted;
        let at = at.clamp(from, self.text.len());
        let line = line + lines_in(&self.text.as_bytes()[from..at]);
        self.counted = (at, line);
        line
    }

    /// The line of an octet, from 1.
    fn line(&self, at: usize) -> usize {
        1 + lines_in(&self.text.as_bytes()[..at.min(self.text.len())])
    }
}

impl Draft {
    fn site(self, feature: usize, lines: Lines) -> Result<SiteRead, Problem> {
        let line = self.line;
        let place = match (self.kind, lines) {
            (Kind::Route, Lines::Refuse) => return Err(Problem::Line { line, kind: "route" }),
            (Kind::Track, Lines::Refuse) => return Err(Problem::Line { line, kind: "track" }),
            (Kind::Track, Lines::AsOutlines) if self.segments > 1 => {
                return Err(Problem::Pieces { line, segments: self.segments });
            }
            (Kind::Waypoint, _) => {
                let at = self.points.into_iter().next().ok_or(Problem::NoPosition { line })??;
                Place::Pin { at, radius_m: None, accuracy_m: None }
            }
            (Kind::Route | Kind::Track, Lines::AsOutlines) => {
                let outline = self.points.into_iter().collect::<Result<Vec<_>, _>>()?;
                Area::new(outline, Vec::new()).map(Place::Area).map_err(Problem::Outline)?
            }
        };
        Ok(SiteRead {
            feature,
            id: None,
            name: self.name.as_deref().map(name).transpose()?.filter(|name| !name.is_empty()),
            place: Some(place),
            uncertainty_m: None,
            cell_degrees: None,
        })
    }
}

fn pin(element: &BytesStart<'_>, line: usize) -> Result<Pin, Problem> {
    let (mut lat, mut lon) = (None, None);
    for attribute in element.attributes() {
        let attribute = attribute.map_err(|_| Problem::NoPosition { line })?;
        let degrees = || attribute.value.trim().parse::<f64>().ok();
        match attribute.key.as_ref() {
            "lat" => lat = degrees(),
            "lon" => lon = degrees(),
            _ => {}
        }
    }
    let (Some(lat), Some(lon)) = (lat, lon) else {
        return Err(Problem::NoPosition { line });
    };
    Pin::new(lat, lon).map_err(|problem| Problem::Point { line, problem })
}

/// The name of an element without its prefix.
fn local(element: &BytesStart<'_>) -> String {
    element.local_name().as_ref().to_owned()
}

fn lines_in(octets: &[u8]) -> usize {
    octets.split(|&octet| octet == b'\n').count() - 1
}

fn offset(position: u64) -> usize {
    usize::try_from(position).unwrap_or(usize::MAX)
}
