//! A figure as SVG 1.1 text that needs no script, no style sheet and no font of its own.

use crate::ink::Ink;
use crate::shape::{Anchor, CurveStep, Dash, Figure, Shape, Stroke, Weight, Xy};
use std::fmt::Write as _;

/// The figure as a stand-alone SVG document that may as well stand inside a page.
///
/// Its text alternative becomes `<title>` and `<desc>`, named by `aria-labelledby` under `role="img"`. Numbers carry two
/// decimals at most and never an exponent; the same figure gives the same bytes. All text is escaped, and characters
/// that XML 1.0 forbids become U+FFFD.
pub fn svg(figure: &Figure) -> String {
    let (width, height) = (figure.size.width, figure.size.height);
    let words = &figure.text_alternative;
    let id = fingerprint(&[&words.title, &words.description]);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
         height=\"{height}\" role=\"img\" aria-labelledby=\"t{id:016x} d{id:016x}\" font-family=\"sans-serif\">\n\
         <title id=\"t{id:016x}\">{}</title>\n<desc id=\"d{id:016x}\">{}</desc>\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"{}\"/>\n",
        escaped(&words.title),
        escaped(&words.description),
        hex(Ink::Paper),
    );
    for shape in &figure.shapes {
        write_shape(&mut out, shape);
    }
    out.push_str("</svg>\n");
    out
}

fn write_shape(out: &mut String, shape: &Shape) {
    let line = match shape {
        Shape::Line { from, to, stroke } => format!(
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"{}/>",
            number(from.x),
            number(from.y),
            number(to.x),
            number(to.y),
            painted(None, Some(stroke))
        ),
        Shape::Polyline { points, stroke } => {
            format!("<polyline points=\"{}\"{}/>", list(points), painted(None, Some(stroke)))
        }
        Shape::Polygon { points, fill, stroke } => {
            format!("<polygon points=\"{}\"{}/>", list(points), painted(*fill, stroke.as_ref()))
        }
        Shape::Circle { center, radius, fill, stroke } => format!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{}/>",
            number(center.x),
            number(center.y),
            number(*radius),
            painted(*fill, stroke.as_ref())
        ),
        Shape::Curve { start, steps, fill, stroke } => {
            format!("<path d=\"{}\"{}/>", path(*start, steps), painted(*fill, stroke.as_ref()))
        }
        Shape::Text { at, text, size, ink, anchor, weight } => format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{}{} fill=\"{}\">{}</text>",
            number(at.x),
            number(at.y),
            number(*size),
            match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            },
            match weight {
                Weight::Regular => "",
                Weight::Bold => " font-weight=\"bold\"",
            },
            hex(*ink),
            escaped(text)
        ),
    };
    out.push_str(&line);
    out.push('\n');
}

fn painted(fill: Option<Ink>, stroke: Option<&Stroke>) -> String {
    let mut paint = format!(" fill=\"{}\"", fill.map_or_else(|| "none".to_owned(), hex));
    if let Some(stroke) = stroke {
        let dash = match stroke.dash {
            Dash::Solid => "",
            Dash::Dashed => " stroke-dasharray=\"4 3\"",
            Dash::Dotted => " stroke-dasharray=\"1 2\"",
        };
        // Writing to a string cannot fail.
        let _ = write!(paint, " stroke=\"{}\" stroke-width=\"{}\"{dash}", hex(stroke.ink), number(stroke.width));
    }
    paint
}

fn path(start: Xy, steps: &[CurveStep]) -> String {
    let point = |xy: Xy| format!("{} {}", number(xy.x), number(xy.y));
    let steps = steps.iter().map(|step| match step {
        CurveStep::Line { to } => format!("L{}", point(*to)),
        CurveStep::Cubic { first, second, to } => format!("C{} {} {}", point(*first), point(*second), point(*to)),
        CurveStep::Close => "Z".to_owned(),
    });
    std::iter::once(format!("M{}", point(start))).chain(steps).collect()
}

fn list(points: &[Xy]) -> String {
    points.iter().map(|xy| format!("{},{}", number(xy.x), number(xy.y))).collect::<Vec<_>>().join(" ")
}

/// At most two decimals, none where they are zero; what is not finite becomes 0.
fn number(number: f64) -> String {
    if !number.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{number:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn hex(ink: Ink) -> String {
    let [red, green, blue] = ink.rgb();
    format!("#{red:02x}{green:02x}{blue:02x}")
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            other => out.push(other),
        }
    }
    out
}

/// FNV-1a, 64 bits: keeps the ids of several figures on one page apart. No secret hangs on it.
fn fingerprint(parts: &[&str]) -> u64 {
    parts
        .iter()
        .flat_map(|part| part.bytes().chain([0]))
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::{Size, TextAlternative};
    use proptest::prelude::*;

    fn figure(title: &str, shapes: Vec<Shape>) -> Figure {
        let text_alternative = TextAlternative { title: title.to_owned(), description: "An invented figure.".into() };
        Figure { size: Size { width: 60, height: 40 }, shapes, text_alternative }
    }

    fn every_shape() -> Figure {
        let xy = |x, y| Xy { x, y };
        let stroke = Stroke { ink: Ink::Rule, width: 1.5, dash: Dash::Dotted };
        figure(
            "Every shape",
            vec![
                Shape::Line { from: xy(0.0, 0.0), to: xy(10.125, -0.001), stroke },
                Shape::Polyline { points: vec![xy(0.0, 1.0), xy(2.0, 3.0), xy(4.0, 1.0)], stroke },
                Shape::Polygon {
                    points: vec![xy(0.0, 0.0), xy(4.0, 0.0), xy(4.0, 4.0)],
                    fill: Some(Ink::Shade),
                    stroke: Some(Stroke { dash: Dash::Dashed, ..stroke }),
                },
                Shape::Circle { center: xy(20.0, 20.0), radius: 3.0, fill: None, stroke: Some(stroke) },
                Shape::Curve {
                    start: xy(1.0, 1.0),
                    steps: vec![
                        CurveStep::Line { to: xy(2.0, 2.0) },
                        CurveStep::Cubic { first: xy(3.0, 0.0), second: xy(4.0, 0.0), to: xy(5.0, 2.0) },
                        CurveStep::Close,
                    ],
                    fill: Some(Ink::Doubt),
                    stroke: None,
                },
                Shape::Text {
                    at: xy(30.0, 30.0),
                    text: "<eggs> & \"larvae\"".into(),
                    size: 12.0,
                    ink: Ink::Slate,
                    anchor: Anchor::Middle,
                    weight: Weight::Bold,
                },
            ],
        )
    }

    #[test]
    fn every_shape_as_svg_and_json() {
        insta::assert_snapshot!("every_shape_svg", svg(&every_shape()));
        insta::assert_json_snapshot!("every_shape_json", every_shape());
        let json = serde_json::to_string(&every_shape()).unwrap();
        assert_eq!(serde_json::from_str::<Figure>(&json).unwrap(), every_shape());
    }

    proptest! {
        /// Whatever the words, no tag, attribute or forbidden character gets out of them.
        #[test]
        fn words_cannot_break_out(title in "\\PC*|[\\x00-\\x1f<>&\"']{0,20}") {
            let text = svg(&figure(&title, Vec::new()));
            prop_assert_eq!(text.matches('<').count(), 7);
            prop_assert!(text.chars().all(|letter| letter == '\n' || letter >= ' '));
        }
    }
}
