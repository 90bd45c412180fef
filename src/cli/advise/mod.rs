//! `thirdpull advise`: one JSON object a line in, one a line out, flushed at once; never ends on a bad line.

mod keep;
mod read;
mod write;

use std::io::{BufRead, Write};

use jiff::Timestamp;

use crate::advisor::{Case, Desk, Settings};
use crate::domain::Recipe;
use crate::infer::Shot;
pub use keep::Keep;
use read::{Fault, Request};

/// Longest line that is read, bytes (a trace of five channels over ten minutes at 100 Hz fits).
const LONGEST_LINE: usize = 8 << 20;
/// Most pulls kept of one bag; older ones are forgotten first.
const MOST_PULLS: usize = 5000;

/// Reads requests until the end of input and answers each. Returns the exit code: 0, or 2 when input or output fails
/// (a closed output counts as the end).
pub fn run(input: impl BufRead, output: impl Write) -> i32 {
    run_as(input, output, Settings::default(), None, std::io::sink())
}

/// The same, answering as `settings` say; with a notebook to keep, records every bag and shot in it. What the notebook
/// refuses is told on `err`; the answers go on. The exit code is 2 also when something could not be written in the end.
pub fn run_as(
    input: impl BufRead,
    output: impl Write,
    settings: Settings,
    keep: Option<Keep>,
    mut err: impl Write,
) -> i32 {
    let mut session = Session { open: None, advised: None, settings, keep };
    let code = talk(input, output, &mut session, &mut err);
    let kept = session.keep.as_mut().is_none_or(|keep| keep.close(Timestamp::now()));
    session.tell(&mut err);
    if kept { code } else { 2 }
}

fn talk(mut input: impl BufRead, mut output: impl Write, session: &mut Session, err: &mut impl Write) -> i32 {
    let mut line = 0u64;
    loop {
        line += 1;
        let answer = match next_line(&mut input) {
            Ok(None) => return 0,
            Ok(Some(Ok(text))) => session.answer(&text, line),
            Ok(Some(Err(fault))) => write::error(line, &fault),
            Err(_unreadable) => return 2,
        };
        session.tell(err);
        let sent = writeln!(output, "{answer}").and_then(|()| output.flush());
        if let Err(error) = sent {
            return if error.kind() == std::io::ErrorKind::BrokenPipe { 0 } else { 2 };
        }
    }
}

struct Session {
    open: Option<(Case, Desk)>,
    /// The recipe advised last, which the next shot is taken to have been planned by.
    advised: Option<Recipe>,
    settings: Settings,
    keep: Option<Keep>,
}

impl Session {
    fn answer(&mut self, text: &str, line: u64) -> serde_json::Value {
        match self.take(text) {
            Ok(()) => match &self.open {
                Some((case, desk)) => {
                    let advice = desk.advise(case, &self.settings);
                    self.advised = Some(advice.recipe);
                    write::advice(&advice)
                }
                None => write::error(line, &Fault::new("open", "open a bag first")),
            },
            Err(fault) => write::error(line, &fault),
        }
    }

    /// What a shot was planned by: the advice, unless the first one is the recipe that the request began with. Who pulls that
    /// goes by a plan of their own.
    fn plan_of(&self, shot: &Shot) -> Option<Recipe> {
        let first = self.open.as_ref().map(|(case, _)| case).filter(|case| case.shots.is_empty());
        let own = first.map(|case| case.current());
        own.filter(|own| shot.aims_at(own)).or(self.advised)
    }

    /// Tells what the notebook refused since the last time.
    fn tell(&mut self, err: &mut impl Write) {
        for sentence in self.keep.as_mut().map(Keep::trouble).unwrap_or_default() {
            // Nothing is left to try when standard error fails too.
            let _unheard = writeln!(err, "thirdpull advise: {sentence}");
        }
    }

    fn take(&mut self, text: &str) -> Result<(), Fault> {
        match read::request(text, self.open.as_ref().map(|(case, _)| case))? {
            Request::Open(mut case) => {
                if let Some(keep) = &mut self.keep {
                    case.packs = keep.packs();
                    keep.begin(&case, Timestamp::now()).map_err(|why| not_kept(&why))?;
                }
                let desk = Desk::new(&case);
                self.open = Some((*case, desk));
            }
            Request::Shot(mut shot, trace) => {
                shot.plan = self.plan_of(&shot);
                if let Some(keep) = &mut self.keep {
                    keep.pull(&shot, trace, Timestamp::now()).map_err(|why| not_kept(&why))?;
                }
                if let Some((case, desk)) = &mut self.open {
                    let first = case.first_day().is_none() && case.bag.days_since_roast.is_none();
                    case.coffee_left_g = case.coffee_left_g.map(|left| (left - shot.recipe.dose_g).max(0.0));
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

fn not_kept(why: &crate::workbench::Refusal) -> Fault {
    Fault::new("", &format!("the notebook refused it: {why}"))
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
