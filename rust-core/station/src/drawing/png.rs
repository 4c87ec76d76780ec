//! Figures as pictures of pixels.

use super::glyphs::outlined;
use figure::{Figure, svg};
use resvg::{tiny_skia, usvg};

/// Why a figure is not drawn.
#[derive(Debug, thiserror::Error)]
#[error("the picture cannot be drawn: {0}")]
pub struct PngError(String);

/// The most pixels of a side.
const MOST: f32 = 8192.0;

/// The figure as PNG, this many pixels to a figure unit; the same figure gives the same octets. It is drawn from the
/// SVG that is written beside it, but that its letters are curves.
///
/// # Errors
/// More than 8192 pixels a side, or none.
pub fn png(figure: &Figure, scale: f32) -> Result<Vec<u8>, PngError> {
    let told = |reason: &dyn std::fmt::Display| PngError(reason.to_string());
    let text = svg(&outlined(figure).map_err(|error| told(&error))?);
    let tree = usvg::Tree::from_str(&text, &usvg::Options::default()).map_err(|error| told(&error))?;
    let side = |length: f32| (length * scale).round();
    let (width, height) = (side(tree.size().width()), side(tree.size().height()));
    if !(1.0..=MOST).contains(&width) || !(1.0..=MOST).contains(&height) {
        return Err(PngError(format!("{width} by {height} pixels")));
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "both are whole and within 1 and 8192")]
    let pixels = tiny_skia::Pixmap::new(width as u32, height as u32);
    let mut pixels = pixels.ok_or_else(|| PngError(format!("{width} by {height} pixels")))?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| told(&error))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{drawing_words, glyphs};
    use figure::specimen::{Kind, Specimen, ids, plate, specimen};
    use figure::{Shape, Size, text_width};
    use messages::Language;

    const SMALL: Size = Size { width: 64, height: 48 };

    fn dark(picture: &[u8]) -> usize {
        let pixels = tiny_skia::Pixmap::decode_png(picture).unwrap();
        pixels.pixels().iter().filter(|pixel| u16::from(pixel.red()) + u16::from(pixel.green()) < 200).count()
    }

    #[test]
    fn a_picture_has_the_size_that_was_asked_for_and_something_on_it() {
        let figure = specimen(&Specimen::typical(Kind::Larva3), SMALL, &drawing_words(Language::En));
        for scale in [1.0_f32, 3.0] {
            let picture = png(&figure, scale).unwrap();
            let pixels = tiny_skia::Pixmap::decode_png(&picture).unwrap();
            assert_eq!((pixels.width(), pixels.height()), if scale < 2.0 { (64, 48) } else { (192, 144) });
            assert!(dark(&picture) > 50, "{}", dark(&picture));
            assert_eq!(png(&figure, scale).unwrap(), picture);
        }
        assert!(png(&figure, 200.0).is_err() && png(&figure, 0.0).is_err());
    }

    /// Texts are drawn, and are no wider than the rule by which they were laid out takes them for.
    #[test]
    fn letters_are_drawn_and_fit() {
        for language in Language::ALL {
            let words = drawing_words(language);
            let sheet = plate(Size { width: 760, height: 900 }, &words);
            let without = Figure {
                shapes: sheet.shapes.iter().filter(|shape| !matches!(shape, Shape::Text { .. })).cloned().collect(),
                ..sheet.clone()
            };
            assert!(dark(&png(&sheet, 1.0).unwrap()) > dark(&png(&without, 1.0).unwrap()) + 500);
            let mut texts = 0;
            for (own, _) in ids() {
                let figure = figure::specimen::character(own, Size { width: 760, height: 900 }, &words).unwrap();
                for shape in figure.shapes.iter().chain(&sheet.shapes) {
                    if let Shape::Text { text, size, weight, .. } = shape {
                        texts += 1;
                        let drawn = glyphs::width(text, *size).unwrap();
                        assert!(drawn <= text_width(text, *size, *weight), "{text}");
                        assert!(!text.contains('{') && !text.contains("drawing."), "{text}");
                    }
                }
            }
            assert!(texts > 500, "{texts}");
        }
    }
}
