//! `thirdpull advise`: one JSON object a line in, one a line out, flushed at once; never ends on a bad line.

mod read;
mod write;

use std::io::{BufRead, Write};

use crate::advisor::{Case, Desk, Settings};
use read::{Fault, Request};

/// Longest line that is read, bytes (a trace of five channels over ten minutes at 100 Hz fits).
const LONGEST_LINE: usize = 8 << 20;
/// Most pulls kept of one bag; older ones are forgotten first.
const MOST_PULLS: usize = 5000;

/// Reads requests until the end of input and answers each. Returns the exit code: 0, or 2 when input or output fails
/// (a closed output counts as the end).
pub fn run(mut input: impl BufRead, mut output: impl Write) -> i32 {
    let mut session = Session { open: None, settings: Settings::default() };
    let mut line = 0u64;
    loop {
        line += 1;
        let answer = match next_line(&mut input) {
            Ok(None) => return 0,
            Ok(Some(Ok(text))) => session.answer(&text, line),
            Ok(Some(Err(fault))) => write::error(line, &fault),
            Err(_unreadable) => return 2,
        };
        let sent = writeln!(output, "{answer}").and_then(|()| output.flush());
        if let Err(error) = sent {
            return if error.kind() == std::io::ErrorKind::BrokenPipe { 0 } else { 2 };
        }
    }
}

struct Session {
    open: Option<(Case, Desk)>,
    settings: Settings,
}

impl Session {
    fn answer(&mut self, text: &str, line: u64) -> serde_json::Value {
        match self.take(text) {
            Ok(()) => match &self.open {
                Some((case, desk)) => write::advice(&desk.advise(case, &self.settings)),
                None => write::error(line, &Fault::new("open", "open a bag first")),
            },
            Err(fault) => write::error(line, &fault),
        }
    }

    fn take(&mut self, text: &str) -> Result<(), Fault> {
        match read::request(text, self.open.as_ref().map(|(case, _)| case))? {
            Request::Open(case) => {
                let desk = Desk::new(&case);
                self.open = Some((*case, desk));
            }
            Request::Shot(shot) => {
                if let Some((case, desk)) = &mut self.open {
                    let first = case.first_day().is_none() && case.bag.days_since_roast.is_none();
                    case.shots.push(*shot);
                    if case.shots.len() > MOST_PULLS {
                        case.shots.remove(0);
                    }
                    if first && case.first_day().is_some() {
                        *desk = Desk::new(case);
                    }
                }
            }
            Request::Ask => {}
        }
        Ok(())
    }
}

/// The next line without its end; `None` at the end of input; a fault for one that is too long or not UTF-8.
fn next_line(input: &mut impl BufRead) -> std::io::Result<Option<Result<String, Fault>>> {
    let mut bytes = Vec::new();
    let mut over = false;
    let mut any = false;
    loop {
        let chunk = match input.fill_buf() {
            Ok(chunk) => chunk,
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        if chunk.is_empty() {
            break;
        }
        any = true;
        let (piece, used, done) = match chunk.iter().position(|b| *b == b'\n') {
            Some(at) => (chunk.get(..at).unwrap_or(chunk), at + 1, true),
            None => (chunk, chunk.len(), false),
        };
        if bytes.len() + piece.len() > LONGEST_LINE {
            over = true;
            bytes = Vec::new();
        } else if !over {
            bytes.extend_from_slice(piece);
        }
        input.consume(used);
        if done {
            break;
        }
    }
    if !any {
        return Ok(None);
    }
    if over {
        return Ok(Some(Err(Fault::new("", &format!("a line may hold at most {LONGEST_LINE} bytes")))));
    }
    Ok(Some(String::from_utf8(bytes).map_err(|bad| {
        Fault::new("", &format!("not UTF-8 text after byte {}", bad.utf8_error().valid_up_to()))
    })))
}
