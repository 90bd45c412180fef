//! A page of words and large figures to print and pin up: A4, upright. Type shrinks until everything is on the page.

use super::font;
use super::{Drawing, Hold, Rgb, Shape};

const INK: Rgb = [0x11, 0x11, 0x11];
const SOFT: Rgb = [0x3A, 0x3A, 0x3A];
const RULE: Rgb = [0x6A, 0x6A, 0x6A];
const PAPER: Rgb = [0xFF, 0xFF, 0xFF];

/// Width of the page, points (A4, ISO 216).
pub const WIDTH: f64 = 595.0;
/// Height of the page, points.
pub const HEIGHT: f64 = 842.0;
/// Margin that stays white, points: printers reach no closer.
pub const MARGIN: f64 = 40.0;

/// One large figure.
#[derive(Debug, Clone, PartialEq)]
pub struct CardFigure {
    /// "Dose".
    pub name: String,
    /// "18.0".
    pub value: String,
    /// "g".
    pub unit: String,
    /// "± 0.4 g"; empty for none.
    pub within: String,
}

/// A heading with its sentences.
#[derive(Debug, Clone, PartialEq)]
pub struct CardPart {
    /// "When it is off".
    pub heading: String,
    /// The sentences.
    pub lines: Vec<String>,
}

/// What is on the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// The coffee.
    pub title: String,
    /// What is known of it, and the station.
    pub about: Vec<String>,
    /// The recipe, two or more in a row.
    pub figures: Vec<CardFigure>,
    /// The rest of the page.
    pub parts: Vec<CardPart>,
    /// The last line.
    pub foot: String,
}

/// Lays the card out.
#[must_use]
pub fn draw_card(card: &Card) -> Drawing {
    let room = HEIGHT - MARGIN - 22.0;
    let mut shapes = Vec::new();
    // From full size down to three fifths; what is still too long there loses its last lines, said by an ellipsis.
    for step in 0..=8 {
        let size = 1.0 - 0.05 * f64::from(step);
        let bottom = lay(card, size, room, step == 8, &mut shapes);
        if bottom <= room {
            break;
        }
    }
    let foot = fitted(&card.foot, 9.0, false, WIDTH - 2.0 * MARGIN);
    shapes.push(line(HEIGHT - MARGIN - 14.0));
    shapes.push(text([MARGIN, HEIGHT - MARGIN], 9.0, false, SOFT, foot));
    Drawing { width: WIDTH, height: HEIGHT, title: card.title.clone(), paper: PAPER, shapes }
}

/// Lays everything but the foot out at a size; gives where it ends. With `cut`, nothing is put below `room`.
fn lay(card: &Card, size: f64, room: f64, cut: bool, shapes: &mut Vec<Shape>) -> f64 {
    shapes.clear();
    let wide = WIDTH - 2.0 * MARGIN;
    let mut y = MARGIN;
    let mut title_size = 30.0 * size;
    while title_size > 14.0 && font::width(&card.title, title_size, true) > wide {
        title_size -= 1.0;
    }
    y += title_size;
    shapes.push(text([MARGIN, y], title_size, true, INK, fitted(&card.title, title_size, true, wide)));
    y += 8.0 * size;
    for about in &card.about {
        for words in wrapped(about, 13.0 * size, false, wide) {
            y += 17.0 * size;
            shapes.push(text([MARGIN, y], 13.0 * size, false, SOFT, words));
        }
    }
    y += 14.0 * size;
    shapes.push(line(y));
    y = figures(card, size, y, shapes);
    for part in &card.parts {
        shapes.push(line(y));
        y += 22.0 * size;
        if cut && y + 18.0 * size > room {
            return y.min(room);
        }
        shapes.push(text(
            [MARGIN, y],
            14.0 * size,
            true,
            INK,
            fitted(&part.heading, 14.0 * size, true, wide),
        ));
        y += 3.0 * size;
        for sentence in &part.lines {
            y += 2.0 * size;
            for (at, words) in wrapped(sentence, 12.5 * size, false, wide - 14.0).into_iter().enumerate() {
                y += 16.0 * size;
                if cut && y + 16.0 * size > room {
                    shapes.push(text([MARGIN + 14.0, y.min(room)], 12.5 * size, false, INK, "…".to_owned()));
                    return room;
                }
                if at == 0 {
                    shapes.push(text([MARGIN, y], 12.5 * size, false, INK, "–".to_owned()));
                }
                shapes.push(text([MARGIN + 14.0, y], 12.5 * size, false, INK, words));
            }
        }
        y += 12.0 * size;
    }
    y
}

/// The recipe: at most three figures in a row, four as two by two, as large as the widest allows.
fn figures(card: &Card, size: f64, mut y: f64, shapes: &mut Vec<Shape>) -> f64 {
    let wide = WIDTH - 2.0 * MARGIN;
    let in_a_row = if card.figures.len() == 4 { 2 } else { card.figures.len().clamp(1, 3) };
    let each = wide / in_a_row as f64;
    let small = 15.0 * size;
    let mut large = 64.0 * size;
    let widest = |large: f64| {
        card.figures
            .iter()
            .map(|f| font::width(&f.value, large, true) + 6.0 + font::width(&f.unit, small, false))
            .fold(0.0, f64::max)
    };
    while large > 16.0 && widest(large) > each - 14.0 {
        large -= 1.0;
    }
    for row in card.figures.chunks(in_a_row) {
        y += 20.0 * size;
        for (at, figure) in row.iter().enumerate() {
            let x = MARGIN + each * at as f64;
            let name = fitted(&figure.name, small, true, each - 14.0);
            shapes.push(text([x, y], small, true, SOFT, name));
            let base = y + large * 0.95;
            let value = fitted(&figure.value, large, true, each - 14.0);
            let beside = x + font::width(&value, large, true) + 6.0;
            shapes.push(text([x, base], large, true, INK, value));
            let left = (x + each - 8.0 - beside).max(0.0);
            shapes.push(text([beside, base], small, false, INK, fitted(&figure.unit, small, false, left)));
            let within = fitted(&figure.within, small, false, each - 14.0);
            shapes.push(text([x, base + small * 1.35], small, false, INK, within));
        }
        y += large * 0.95 + small * 1.35 + 8.0 * size;
    }
    y + 8.0 * size
}

/// The words of a sentence between which a line may end: a unit stays with its number, and a number with its "±".
fn words(sentence: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in sentence.split_whitespace() {
        let short =
            word.trim_end_matches(|c: char| c.is_ascii_punctuation() && c != '%').chars().count() <= 3;
        match words.last_mut() {
            Some(last) if last.ends_with('±') || (short && last.ends_with(|c: char| c.is_ascii_digit())) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Breaks a sentence into lines no wider than `wide`; a word that is wider by itself is cut.
fn wrapped(sentence: &str, size: f64, bold: bool, wide: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut now = String::new();
    for word in words(sentence) {
        let tried = if now.is_empty() { word.to_owned() } else { format!("{now} {word}") };
        if font::width(&tried, size, bold) <= wide {
            now = tried;
        } else {
            if !now.is_empty() {
                lines.push(std::mem::take(&mut now));
            }
            now = fitted(&word, size, bold, wide);
        }
    }
    if !now.is_empty() {
        lines.push(now);
    }
    lines
}

/// A text cut with an ellipsis where it is wider than `wide`.
fn fitted(words: &str, size: f64, bold: bool, wide: f64) -> String {
    let mut letters: Vec<char> = words.chars().filter(|c| !c.is_control()).take(400).collect();
    if font::width(&letters.iter().collect::<String>(), size, bold) <= wide {
        return letters.into_iter().collect();
    }
    while let Some(_last) = letters.pop() {
        let cut: String = letters.iter().chain(['…'].iter()).collect();
        if font::width(&cut, size, bold) <= wide {
            return cut;
        }
    }
    String::new()
}

fn line(y: f64) -> Shape {
    Shape::Line { points: vec![[MARGIN, y], [WIDTH - MARGIN, y]], colour: RULE, width: 0.8, dash: None }
}

fn text(at: [f64; 2], size: f64, bold: bool, colour: Rgb, words: String) -> Shape {
    Shape::Text { at, hold: Hold::Left, size, bold, colour, text: words }
}

#[cfg(test)]
mod tests {
    use super::super::{Kind, png, write};
    use super::*;

    fn card(long: usize) -> Card {
        let figure = |name: &str, value: &str, unit: &str| CardFigure {
            name: name.into(),
            value: value.into(),
            unit: unit.into(),
            within: "± 0.4 g".into(),
        };
        Card {
            title: "Quarry Road ".repeat(1 + long),
            about: vec!["Tin Gable · washed · medium-light ".repeat(1 + long)],
            figures: vec![
                figure("Grind", &"12.5".repeat(1 + long / 4), "marks"),
                figure("Dose", "18.0", "g"),
                figure("Yield", "40.0", "g"),
                figure("Time", "28", "s"),
                figure("Temperature", "93", "°C"),
            ],
            parts: vec![
                CardPart {
                    heading: "When it is off".into(),
                    lines: vec![
                        "Under 25 s: one click finer, purge, pull again. ".repeat(1 + long);
                        4 + long
                    ],
                },
                CardPart { heading: "Take care".into(), lines: vec!["Water scalds. ".repeat(6 + long); 3] },
            ],
            foot: "Kept 2026-11-25 ".repeat(1 + long),
        }
    }

    fn texts(drawing: &Drawing) -> Vec<([f64; 2], f64, f64, &str)> {
        drawing
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Text { at, size, bold, text, .. } => {
                    Some((*at, *size, font::width(text, *size, *bold), text.as_str()))
                }
                _ => None,
            })
            .collect()
    }

    #[test]
    fn nothing_leaves_the_page_or_lies_on_another_however_long() {
        for long in [0, 1, 4, 12, 40] {
            let drawing = draw_card(&card(long));
            let all = texts(&drawing);
            for (at, size, width, text) in &all {
                assert!(at[0] >= MARGIN - 0.01 && at[0] + width <= WIDTH - MARGIN + 0.01, "{long}: {text}");
                assert!(at[1] - size >= MARGIN - 12.0 && at[1] <= HEIGHT - MARGIN + 0.01, "{long}: {text}");
            }
            for (n, (a, size_a, wide_a, text_a)) in all.iter().enumerate() {
                for (b, size_b, wide_b, text_b) in all.iter().skip(n + 1) {
                    // Capitals are seven tenths of the type high.
                    let apart = a[0] + wide_a <= b[0] + 0.01
                        || b[0] + wide_b <= a[0] + 0.01
                        || a[1] <= b[1] - 0.7 * size_b + 0.01
                        || b[1] <= a[1] - 0.7 * size_a + 0.01;
                    assert!(
                        apart || text_a.is_empty() || text_b.is_empty(),
                        "{long}: “{text_a}” on “{text_b}”"
                    );
                }
            }
        }
    }

    #[test]
    fn a_unit_never_begins_a_line() {
        let sentence = "Under 25 s: grind one click finer, to 13.5 (about 2.9 s longer). After a move purge 1.0 g. \
                        Within ± 0.4 g it may wander, at 93 °C and 9 bar, or 36 % more";
        for wide in (40..400).step_by(3) {
            for line in wrapped(sentence, 12.5, false, f64::from(wide)) {
                let first = line.split_whitespace().next().unwrap();
                let first = first.trim_end_matches([':', '.', ',', ')']);
                assert!(!["s", "g", "°C", "bar", "%", "0.4"].contains(&first), "{wide}: {line}");
            }
        }
    }

    /// Read back with the decoder of the png crate: each large figure has left ink where it stands, and the margin none.
    #[test]
    fn the_figures_are_on_the_rendered_page() {
        let drawing = draw_card(&card(0));
        let bytes = png(&drawing, 2.0).unwrap();
        let mut reader = ::png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut pixels).unwrap();
        assert_eq!((info.width, info.height), (1190, 1684));
        let dark = |x0: f64, y0: f64, x1: f64, y1: f64| {
            let mut count = 0;
            for y in (y0 * 2.0) as usize..(y1 * 2.0) as usize {
                for x in (x0 * 2.0) as usize..(x1 * 2.0) as usize {
                    count += usize::from(pixels[(y * 1190 + x) * 4] < 100);
                }
            }
            count
        };
        for figure in ["12.5", "18.0", "40.0", "28", "93"] {
            let (at, size, width, _) = texts(&drawing)
                .into_iter()
                .find(|(_, size, _, text)| *text == figure && *size > 30.0)
                .unwrap();
            let ink = dark(at[0], at[1] - size * 0.7, at[0] + width, at[1]);
            let area = width * size * 0.7 * 4.0;
            assert!(ink as f64 > 0.1 * area, "{figure}: {ink} of {area}");
        }
        assert_eq!(dark(0.0, 0.0, MARGIN - 4.0, HEIGHT - 1.0), 0);
        assert_eq!(dark(WIDTH - MARGIN + 4.0, 0.0, WIDTH - 1.0, HEIGHT - 1.0), 0);
        let pdf = write(&drawing, Kind::Pdf).unwrap();
        let text = String::from_utf8_lossy(&pdf);
        assert!(text.contains("/MediaBox [0 0 595 842]") && text.contains("/Count 1"));
    }
}
