//! What a bar writes into notes in a fixed form, so that it stays readable by people and can be read back: the room, old
//! beans left in the hopper, why a window was set. It is plain text in the notebook's own notes.

/// The room as somebody wrote it down.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Room {
    /// Temperature, °C.
    pub temperature_c: Option<f64>,
    /// Relative humidity, percent.
    pub humidity_pct: Option<f64>,
}

const ROOM: &str = "room ";
const OLD_BEANS: &str = "old beans ";
const WINDOW: &str = "Window ";

/// "room 24 °C 55 %"; empty when neither is known.
#[must_use]
pub fn room_words(room: Room) -> String {
    let mut parts = Vec::new();
    parts.extend(room.temperature_c.filter(|t| t.is_finite()).map(|t| format!("{t:.0} °C")));
    parts.extend(room.humidity_pct.filter(|h| h.is_finite()).map(|h| format!("{h:.0} %")));
    if parts.is_empty() { String::new() } else { format!("{ROOM}{}", parts.join(" ")) }
}

/// The room in a pull's note. Numbers that no room has (below 0 or above 50 °C, outside 0–100 %) are passed over.
#[must_use]
pub fn room_in(note: &str) -> Option<Room> {
    let rest = behind(note, ROOM)?;
    let mut room = Room::default();
    let mut words = rest.split_whitespace().peekable();
    while let Some(word) = words.next() {
        let Ok(number) = word.replace(',', ".").parse::<f64>() else { break };
        match words.next().map(|unit| unit.trim_end_matches([',', '.', ';'])) {
            Some("°C") => room.temperature_c = Some(number).filter(|t| (0.0..=50.0).contains(t)),
            Some("%") => room.humidity_pct = Some(number).filter(|h| (0.0..=100.0).contains(h)),
            _ => break,
        }
    }
    (room != Room::default()).then_some(room)
}

/// "old beans 200 g": what was left in the hopper when a new bag was poured onto it.
#[must_use]
pub fn old_beans_words(grams: f64) -> String {
    format!("{OLD_BEANS}{grams:.0} g")
}

/// Old beans in the hopper by a pull's note, grams (0–5000).
#[must_use]
pub fn old_beans_in(note: &str) -> Option<f64> {
    let mut words = behind(note, OLD_BEANS)?.split_whitespace();
    let grams = words.next()?.replace(',', ".").parse::<f64>().ok()?;
    let unit = words.next()?.trim_end_matches([',', '.', ';']);
    (unit == "g" && (0.0..=5000.0).contains(&grams)).then_some(grams)
}

/// The line that says why a window was set: "Window 25–29 s: the queue is long".
#[must_use]
pub fn window_line(from_s: f64, to_s: f64, reason: &str) -> String {
    format!("{WINDOW}{from_s}–{to_s} s: {}", reason.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// Why the window on a bag's sheet was set, by the last such line of its note; only where the line speaks of this
/// window.
#[must_use]
pub fn window_reason(note: &str, window: (f64, f64)) -> Option<&str> {
    let head = format!("{WINDOW}{}–{} s: ", window.0, window.1);
    note.lines().rev().find_map(|line| line.trim().strip_prefix(head.as_str())).filter(|why| !why.is_empty())
}

/// A bag's note with the line about its window put in place of the one before.
#[must_use]
pub fn with_window_line(note: &str, line: &str) -> String {
    let kept = note.lines().filter(|l| !(l.starts_with(WINDOW) && l.contains(" s: ")));
    let mut lines: Vec<&str> = kept.collect();
    lines.push(line);
    lines.join("\n").trim().to_owned()
}

/// Joins the parts of a note that are not empty: "; " between them.
#[must_use]
pub fn joined(parts: &[&str]) -> String {
    parts.iter().map(|p| p.trim()).filter(|p| !p.is_empty()).collect::<Vec<_>>().join("; ")
}

/// What follows `lead` where it begins a note or a part of one.
fn behind<'a>(note: &'a str, lead: &str) -> Option<&'a str> {
    note.split([';', '\n']).map(str::trim_start).find_map(|part| part.strip_prefix(lead))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back() {
        let room = Room { temperature_c: Some(24.0), humidity_pct: Some(55.0) };
        assert_eq!(room_words(room), "room 24 °C 55 %");
        for note in ["room 24 °C 55 %", "rushed; room 24 °C 55 %; spurted a bit", "a\nroom 24,0 °C 55 %."]
        {
            assert_eq!(room_in(note), Some(room), "{note}");
        }
        assert_eq!(room_in("room 21 °C").unwrap().humidity_pct, None);
        assert_eq!(room_in("the back room 24 °C"), None);
        assert_eq!(room_in("room to improve"), None);
        assert_eq!(room_in("room 240 °C"), None);
        assert_eq!(room_words(Room::default()), "");
        assert_eq!(old_beans_in(&joined(&["", "thin", &old_beans_words(200.0)])), Some(200.0));
        assert_eq!(old_beans_in("old beans 200 kg"), None);
    }

    #[test]
    fn the_reason_of_a_window_belongs_to_that_window() {
        let note = with_window_line(
            "Lovely cherry.\nWindow 24–28 s: old",
            &window_line(25.0, 29.5, "a long  queue"),
        );
        assert_eq!(note, "Lovely cherry.\nWindow 25–29.5 s: a long queue");
        assert_eq!(window_reason(&note, (25.0, 29.5)), Some("a long queue"));
        assert_eq!(window_reason(&note, (25.0, 30.0)), None);
    }
}
