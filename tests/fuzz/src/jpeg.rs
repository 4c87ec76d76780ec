//! Pictures: what is left of them when everything is gone that does not draw them.

use crate::damage::{Damage, damaged, described};
use arbitrary::Arbitrary;
use handset::photo::jpeg::{MOST_OCTETS, MOST_PIXELS, NotUsable, strip};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::options::DecoderOptions;

/// A grey picture of 8 x 8 pixels with a place, a camera's comment and words behind its end; all invented.
const SMALL: &[u8] = include_bytes!("../../../rust-core/handset/tests/fixtures/small.jpg");

/// Segments put into a right picture, and what happens to it then.
#[derive(Debug, Arbitrary)]
struct Input {
    segments: Vec<(u8, Segment)>,
    damages: Vec<Damage>,
}

#[derive(Debug, Arbitrary)]
enum Segment {
    Application { n: u8, octets: Vec<u8> },
    Comment(Vec<u8>),
    Adobe { transform: u8, more: Vec<u8> },
    Restart(u16),
    Fill(u8),
    Any { marker: u8, octets: Vec<u8> },
}

/// Octets that begin like a JPEG are read as one, others as a description of one. A picture that nothing happened to is
/// drawn the same afterwards; of what is damaged within its scans decoders make what they like.
pub fn hold(octets: &[u8]) {
    if octets.starts_with(&[0xFF, 0xD8]) {
        picture(octets);
    } else if let Some(input) = described::<Input>(octets) {
        let right = built(&input.segments);
        if let Some(kept) = picture(&right) {
            drawn_the_same(&right, &kept);
        }
        picture(&damaged(&right, &input.damages));
    }
}

/// What is left is a JPEG of the same size that holds nothing beside the drawing, is no longer than what came, and
/// loses nothing when it is stripped again.
fn picture(octets: &[u8]) -> Option<Vec<u8>> {
    let kept = match strip(octets) {
        Ok(kept) => kept,
        Err(error) => {
            match error {
                NotUsable::NotJpeg => assert!(!octets.starts_with(&[0xFF, 0xD8, 0xFF])),
                NotUsable::Broken { at } => assert!(at <= octets.len()),
                NotUsable::Size { width, height } => {
                    assert!([width, height].iter().any(|side| !(1..=MOST_PIXELS).contains(side)));
                }
                NotUsable::TooLarge { octets: many } => assert!(many > MOST_OCTETS),
            }
            return None;
        }
    };
    assert!(kept.len() <= octets.len());
    let markers = markers(&kept);
    assert_eq!(markers.last(), Some(&0xD9), "it ends as a JPEG does");
    assert!(markers.contains(&0xDA), "it has a scan");
    assert_eq!(strip(&kept).as_ref(), Ok(&kept), "stripping twice is stripping once");
    Some(kept)
}

fn drawn_the_same(octets: &[u8], kept: &[u8]) {
    if let Some((size, pixels)) = drawn(octets) {
        let (own_size, own_pixels) = drawn(kept).expect("what could be drawn still can");
        assert_eq!(size, own_size);
        assert!(pixels == own_pixels, "the drawing is the same");
    }
}

/// The markers of a stripped picture, read without the code that stripped it. Panics at whatever has no place there.
fn markers(kept: &[u8]) -> Vec<u8> {
    assert!(kept.starts_with(&[0xFF, 0xD8]));
    let (mut at, mut markers) = (2, Vec::new());
    loop {
        assert_eq!(kept[at], 0xFF, "a marker stands at {at}");
        let marker = kept[at + 1];
        markers.push(marker);
        at += 2;
        if marker == 0xD9 {
            assert_eq!(at, kept.len(), "nothing stands behind the end");
            return markers;
        }
        let length = usize::from(u16::from_be_bytes([kept[at], kept[at + 1]]));
        let segment = &kept[at..at + length];
        match marker {
            0xEE => {
                assert!(segment[2..].starts_with(b"Adobe") && length == 14, "of Adobe's segment the transform alone");
                assert_eq!(segment[7..13], [0, 100, 0, 0, 0, 0]);
            }
            // The shortest lengths of ITU-T T.81, annex B, leave no room for anything else.
            0xDD => assert_eq!(length, 4),
            0xC4 | 0xCC | 0xDB => {}
            0xC0..=0xCF => {
                assert_eq!(length, 8 + 3 * usize::from(segment[7]));
                for side in [&segment[3..5], &segment[5..7]] {
                    assert!((1..=MOST_PIXELS).contains(&u16::from_be_bytes([side[0], side[1]])));
                }
            }
            0xDA => assert_eq!(length, 6 + 2 * usize::from(segment[2])),
            other => panic!("marker {other:02X} does not draw"),
        }
        at += length;
        if marker == 0xDA {
            while kept[at] != 0xFF || matches!(kept[at + 1], 0 | 0xFF | 0xD0..=0xD7) {
                at += 1;
            }
        }
    }
}

/// Size and pixels, as a decoder that others wrote draws them; `None` for what it cannot draw.
fn drawn(octets: &[u8]) -> Option<((usize, usize), Vec<u8>)> {
    // What is wrong is not drawn somehow, for there decoders do as they like.
    let options = DecoderOptions::default().set_strict_mode(true);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(octets), options);
    decoder.decode_headers().ok()?;
    let size = decoder.dimensions()?;
    // Drawing large pictures takes long and shows nothing more.
    if size.0 * size.1 > 64 * 64 {
        return None;
    }
    Some((size, decoder.decode().ok()?))
}

fn built(segments: &[(u8, Segment)]) -> Vec<u8> {
    // Where segments may stand in the small picture: behind its start, and before each of its own up to the scan.
    const PLACES: [usize; 8] = [2, 20, 60, 90, 159, 172, 194, 216];
    let mut picture = SMALL.to_vec();
    let mut sorted: Vec<_> = segments.iter().take(16).collect();
    sorted.sort_by_key(|(place, _)| std::cmp::Reverse(place % 8));
    for (place, segment) in sorted {
        let at = PLACES[usize::from(place % 8)];
        picture.splice(at..at, segment.octets());
    }
    picture
}

impl Segment {
    fn octets(&self) -> Vec<u8> {
        let with = |marker: u8, octets: &[u8]| {
            let octets = &octets[..octets.len().min(1_000)];
            let length = u16::try_from(octets.len() + 2).unwrap_or(u16::MAX).to_be_bytes();
            [&[0xFF, marker], &length[..], octets].concat()
        };
        match self {
            Self::Application { n, octets } => with(0xE0 | n & 0x0F, octets),
            Self::Comment(octets) => with(0xFE, octets),
            Self::Adobe { transform, more } => {
                with(0xEE, &[b"Adobe\0\x64\x12\x34\x56\x78", &[*transform][..], &more[..more.len().min(9)]].concat())
            }
            Self::Restart(interval) => with(0xDD, &interval.to_be_bytes()),
            Self::Fill(many) => vec![0xFF; usize::from(many % 32)],
            Self::Any { marker, octets } => with(*marker, octets),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_small_picture_can_be_drawn() {
        assert_eq!(drawn(SMALL).map(|(size, _)| size), Some((8, 8)));
        assert_eq!(markers(&strip(&built(&[])).unwrap()).last(), Some(&0xD9));
    }
}
