//! What a JPEG needs to be drawn, and nothing else of it.
//!
//! The marker codes and the layout of segments are those of ITU-T T.81 (1992), annex B.

/// The most pixels a side.
pub const MOST_PIXELS: u16 = 2560;
/// The most octets of a picture, before and after.
pub const MOST_OCTETS: usize = 16 * 1024 * 1024;

/// Why a picture is not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotUsable {
    /// It does not begin as a JPEG does.
    #[error("no JPEG")]
    NotJpeg,
    /// It ends in the middle, or a length in it is wrong.
    #[error("the JPEG is broken at octet {at}")]
    Broken {
        /// Where.
        at: usize,
    },
    /// A side is 0 or more than [`MOST_PIXELS`].
    #[error("{width} x {height} pixels, {MOST_PIXELS} a side are the most")]
    Size {
        /// Pixels.
        width: u16,
        /// Pixels.
        height: u16,
    },
    /// More than [`MOST_OCTETS`].
    #[error("{octets} octets, {MOST_OCTETS} are the most")]
    TooLarge {
        /// How many.
        octets: usize,
    },
}

const SOI: u8 = 0xD8;
const EOI: u8 = 0xD9;
const SOS: u8 = 0xDA;
const DQT: u8 = 0xDB;
const DHT: u8 = 0xC4;
const DAC: u8 = 0xCC;
const DRI: u8 = 0xDD;
const APP14: u8 = 0xEE;

/// The picture without what is not needed to draw it: tables, frame and scans stay, all application segments and
/// comments go, and whatever follows the end. Of the application segments one is part of the drawing: the colour
/// transform that Adobe's segment states, kept in a segment that holds nothing else.
///
/// # Errors
/// Not a JPEG, a broken one, or one that is too large.
pub fn strip(picture: &[u8]) -> Result<Vec<u8>, NotUsable> {
    if picture.len() > MOST_OCTETS {
        return Err(NotUsable::TooLarge { octets: picture.len() });
    }
    if !picture.starts_with(&[0xFF, SOI, 0xFF]) {
        return Err(NotUsable::NotJpeg);
    }
    let mut kept = vec![0xFF, SOI];
    let mut at = 2;
    let mut framed = Frame::NotYet;
    loop {
        let marker = marker_at(picture, &mut at)?;
        if marker == EOI {
            kept.extend([0xFF, EOI]);
            return if framed == Frame::Scanned { Ok(kept) } else { Err(NotUsable::Broken { at }) };
        }
        let segment = segment_at(picture, at)?;
        check_room(marker, segment, at)?;
        match marker {
            DQT | DHT | DAC | DRI => keep(&mut kept, marker, segment),
            0xC0..=0xCF => {
                check_size(segment, at)?;
                keep(&mut kept, marker, segment);
                framed = Frame::Framed;
            }
            APP14 if segment.len() >= 14 && segment[2..].starts_with(b"Adobe") => {
                // Version and flags do not enter the drawing; the last octet, the transform, does.
                let transform = segment[13];
                kept.extend([0xFF, APP14, 0, 14]);
                kept.extend(b"Adobe");
                kept.extend([0, 100, 0, 0, 0, 0, transform]);
            }
            SOS if framed != Frame::NotYet => {
                keep(&mut kept, marker, segment);
                framed = Frame::Scanned;
                let data = &picture[at + segment.len()..];
                let length = scan_length(data).ok_or(NotUsable::Broken { at: picture.len() })?;
                kept.extend(&data[..length]);
                at += length;
            }
            // A scan before its frame, a second start, a marker that has no segment, or one that no picture has: decoders
            // disagree about what is reserved.
            SOS | SOI | 0x01..=0xBF | 0xD0..=0xD7 => return Err(NotUsable::Broken { at }),
            _ => {}
        }
        at += segment.len();
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Frame {
    NotYet,
    Framed,
    Scanned,
}

/// The code of the marker here; `at` moves behind it, over the fill octets that may stand before it.
fn marker_at(picture: &[u8], at: &mut usize) -> Result<u8, NotUsable> {
    let broken = NotUsable::Broken { at: *at };
    if picture.get(*at) != Some(&0xFF) {
        return Err(broken);
    }
    while picture.get(*at) == Some(&0xFF) {
        *at += 1;
    }
    let marker = *picture.get(*at).ok_or(broken)?;
    *at += 1;
    if marker == 0 { Err(broken) } else { Ok(marker) }
}

/// The segment here with the two octets of its length.
fn segment_at(picture: &[u8], at: usize) -> Result<&[u8], NotUsable> {
    let broken = NotUsable::Broken { at };
    let &[high, low] = picture.get(at..at + 2).ok_or(broken)? else { return Err(broken) };
    let length = usize::from(u16::from_be_bytes([high, low]));
    if length < 2 {
        return Err(broken);
    }
    picture.get(at..at + length).ok_or(broken)
}

fn keep(kept: &mut Vec<u8>, marker: u8, segment: &[u8]) {
    kept.extend([0xFF, marker]);
    kept.extend(segment);
}

/// Refuses a segment that is kept and longer or shorter than its contents: something else could travel in what is left.
/// The lengths are those of ITU-T T.81, B.2.2 (frame), B.2.3 (scan) and B.2.4.4 (restart interval).
fn check_room(marker: u8, segment: &[u8], at: usize) -> Result<(), NotUsable> {
    let components = |place: usize| segment.get(place).map(|&number| usize::from(number));
    let due = match marker {
        DRI => Some(4),
        SOS => components(2).map(|number| 6 + 2 * number),
        0xC0..=0xCF if !matches!(marker, DHT | DAC) => components(7).map(|number| 8 + 3 * number),
        _ => return Ok(()),
    };
    if due == Some(segment.len()) { Ok(()) } else { Err(NotUsable::Broken { at }) }
}

fn check_size(segment: &[u8], at: usize) -> Result<(), NotUsable> {
    let &[_, _, _, h1, h2, w1, w2, ..] = segment else { return Err(NotUsable::Broken { at }) };
    let (height, width) = (u16::from_be_bytes([h1, h2]), u16::from_be_bytes([w1, w2]));
    if (1..=MOST_PIXELS).contains(&height) && (1..=MOST_PIXELS).contains(&width) {
        Ok(())
    } else {
        Err(NotUsable::Size { width, height })
    }
}

/// Octets of entropy-coded data up to the next marker that is neither a stuffed zero nor a restart.
fn scan_length(data: &[u8]) -> Option<usize> {
    data.windows(2).position(|pair| pair[0] == 0xFF && !matches!(pair[1], 0 | 0xFF | 0xD0..=0xD7))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A grey picture of 8 x 8 pixels with a place, a camera's comment and words behind its end.
    const SMALL: &[u8] = include_bytes!("../../tests/fixtures/small.jpg");

    #[test]
    fn only_what_draws_the_picture_is_left() {
        let kept = strip(SMALL).unwrap();
        for words in ["INVENTED-PLACE", "Exif", "invented phone", "trailing", "JFIF"] {
            assert!(SMALL.windows(words.len()).any(|window| window == words.as_bytes()), "{words}");
            assert!(!kept.windows(words.len()).any(|window| window == words.as_bytes()), "{words}");
        }
        let mut codes = Vec::new();
        let mut at = 2;
        while let Ok(marker) = marker_at(&kept, &mut at) {
            codes.push(marker);
            if marker == EOI {
                break;
            }
            at += segment_at(&kept, at).unwrap().len();
            if marker == SOS {
                at += scan_length(&kept[at..]).unwrap();
            }
        }
        assert_eq!(codes, [DQT, 0xC0, DHT, DHT, SOS, EOI]);
        assert_eq!(strip(&kept).unwrap(), kept);
    }

    #[test]
    fn the_colour_transform_stays_and_nothing_else_of_its_segment() {
        let mut picture = vec![0xFF, SOI, 0xFF, APP14, 0, 14];
        picture.extend(b"Adobe");
        picture.extend([0x12, 0x34, 0x56, 0x78, 0x9A, 0xBC, 2]);
        picture.extend(&SMALL[2..]);
        let kept = strip(&picture).unwrap();
        assert_eq!(&kept[2..18], [0xFF, APP14, 0, 14, b'A', b'd', b'o', b'b', b'e', 0, 100, 0, 0, 0, 0, 2]);
    }

    #[test]
    fn nothing_travels_behind_what_a_segment_holds() {
        for (marker, more) in [(0xC0, 3), (SOS, 2), (DRI, 7)] {
            let mut picture = SMALL.to_vec();
            if marker == DRI {
                picture.splice(2..2, [0xFF, DRI, 0, 4, 0, 1]);
                assert!(strip(&picture).is_ok());
            }
            let at = picture.windows(2).position(|pair| pair == [0xFF, marker]).unwrap();
            let length = picture[at + 3];
            picture[at + 3] += more;
            let end = at + 2 + usize::from(length);
            picture.splice(end..end, vec![b'x'; usize::from(more)]);
            assert!(matches!(strip(&picture), Err(NotUsable::Broken { .. })), "{marker:02X}");
        }
    }

    #[test]
    fn what_is_no_whole_jpeg_of_our_size_is_refused() {
        assert_eq!(strip(b"\x89PNG\r\n\x1a\n"), Err(NotUsable::NotJpeg));
        assert_eq!(strip(b""), Err(NotUsable::NotJpeg));
        let end = SMALL.windows(2).rposition(|pair| pair == [0xFF, EOI]).unwrap();
        for cut in 3..=end {
            assert!(strip(&SMALL[..cut]).is_err(), "cut at {cut}");
        }
        let frame = SMALL.windows(2).position(|pair| pair == [0xFF, 0xC0]).unwrap();
        for (height, width) in [(2561, 8), (8, 2561), (0, 8), (8, 0)] {
            let mut picture = SMALL.to_vec();
            picture[frame + 5..frame + 7].copy_from_slice(&u16::to_be_bytes(height));
            picture[frame + 7..frame + 9].copy_from_slice(&u16::to_be_bytes(width));
            assert_eq!(strip(&picture), Err(NotUsable::Size { width, height }));
        }
    }
}
