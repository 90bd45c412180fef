//! The three kinds of file show the same, and are what they say.

use super::*;

fn figure() -> Figure {
    let wave = |up: f64| (0..300).map(|i| [f64::from(i) * 0.1, up + (f64::from(i) * 0.05).sin()]).collect();
    Figure {
        title: "Two pulls & a <band>".into(),
        time_axis: "seconds after the first drip".into(),
        span_s: (-2.0, 32.0),
        panels: vec![Panel {
            name: "Pressure".into(),
            unit: "bar".into(),
            range: (0.0, 12.0),
            bands: vec![Ribbon {
                name: "middle half".into(),
                edges: vec![[0.0, 6.0, 7.0], [15.0, 8.0, 10.0], [30.0, 7.5, 9.0]],
            }],
            curves: vec![
                Curve { label: String::new(), mark: Mark::Rest, runs: vec![wave(7.0)] },
                Curve { label: "3".into(), mark: Mark::This, runs: vec![wave(8.0)] },
            ],
        }],
        legend: vec![(Mark::This, "pull 3".into())],
    }
}

#[test]
fn svg_is_well_formed_and_holds_the_words() {
    let text = svg(&draw(&figure(), 700.0, 400.0));
    assert!(text.starts_with("<svg ") && text.trim_end().ends_with("</svg>"));
    assert!(text.contains("Two pulls &amp; a &lt;band&gt;") && !text.contains("NaN"));
    assert!(text.contains(">seconds after the first drip</text>"));
    assert_eq!(
        text.matches("<polyline").count(),
        text.matches("/>").count() - text.matches("<polygon").count() - 1
    );
}

/// Against the characters that XML 1.0 allows (W3C, Extensible Markup Language 1.0, fifth edition, production 2).
#[test]
fn svg_leaves_out_what_xml_forbids() {
    let mut figure = figure();
    figure.title = "Two\u{b} pu\u{0}lls\u{1b}\u{fffe} é\tend".into();
    figure.panels[0].name = "Press\u{8}ure".into();
    let text = svg(&draw(&figure, 700.0, 400.0));
    let allowed = |c: char| matches!(c, '\t' | '\n' | '\r' | '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..);
    assert!(text.chars().all(allowed), "{:?}", text.chars().find(|c| !allowed(*c)));
    assert!(text.contains("Two pulls é\tend") && text.contains("Pressure"));
}

/// Read back with the decoder of the png crate: the paper is white, and the solid line is black where it was drawn.
#[test]
fn png_has_ink_where_the_line_runs() {
    let drawing = draw(&figure(), 700.0, 400.0);
    let bytes = super::png(&drawing, 2.0).unwrap();
    let mut reader = ::png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!((info.width, info.height), (1400, 800));
    let at = |x: f64, y: f64| {
        let start = ((y * 2.0) as usize * 1400 + (x * 2.0) as usize) * 4;
        [pixels[start], pixels[start + 1], pixels[start + 2]]
    };
    assert_eq!(at(2.0, 2.0), [255, 255, 255]);
    let line = drawing
        .shapes
        .iter()
        .find_map(|shape| match shape {
            Shape::Line { points, width, .. } if *width > 1.9 && points.len() > 10 => Some(points.clone()),
            _ => None,
        })
        .unwrap();
    let [x, y] = line[150];
    assert!(at(x, y).iter().all(|part| *part < 60), "{:?}", at(x, y));
}

#[test]
fn pdf_has_a_page_of_the_right_size() {
    let bytes = pdf(&draw(&figure(), 700.0, 400.0));
    let text = String::from_utf8_lossy(&bytes);
    assert!(text.starts_with("%PDF-1.") && text.trim_end().ends_with("%%EOF"));
    assert!(text.contains("/MediaBox [0 0 700 400]") && text.contains("/Count 1"));
    assert!(!text.contains("NaN") && !text.contains("inf"));
}

#[test]
fn nothing_and_nonsense_still_draw() {
    let empty = Figure {
        title: String::new(),
        time_axis: String::new(),
        span_s: (f64::NAN, 0.0),
        panels: vec![Panel {
            name: String::new(),
            unit: String::new(),
            range: (f64::NAN, f64::INFINITY),
            bands: vec![Ribbon::default()],
            curves: vec![Curve {
                label: "x".into(),
                mark: Mark::Rest,
                runs: vec![vec![], vec![[0.5, f64::NAN]]],
            }],
        }],
        legend: Vec::new(),
    };
    for kind in [Kind::Png, Kind::Svg, Kind::Pdf] {
        let bytes = write(&draw(&empty, f64::NAN, 0.0), kind).unwrap();
        assert!(!bytes.is_empty() && !String::from_utf8_lossy(&bytes).contains("NaN"));
    }
    assert_eq!(Kind::of(Path::new("a/b.PDF")), Some(Kind::Pdf));
    assert_eq!(Kind::of(Path::new("a/b.jpg")), None);
}
