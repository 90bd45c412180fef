//! Any program that speaks the protocol over standard input and output, one JSON object a line.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use serde::Deserialize;
use serde_json::json;

use super::Agent;
use crate::protocol::{Advice, Open, Shot};

/// A running program.
#[derive(Debug)]
pub struct Exec {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
}

#[derive(Deserialize)]
struct Answer {
    advice: Option<Advice>,
    error: Option<serde_json::Value>,
}

impl Exec {
    /// Starts `program arguments…`, split at blanks.
    pub fn start(command: &str) -> Result<Self, String> {
        let mut words = command.split_whitespace();
        let program = words.next().ok_or("empty command")?;
        let mut child = Command::new(program)
            .args(words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|e| format!("{program}: {e}"))?;
        let to = child.stdin.take().ok_or("no standard input")?;
        let from = BufReader::new(child.stdout.take().ok_or("no standard output")?);
        Ok(Self { child, to, from })
    }

    fn say(&mut self, request: &serde_json::Value) -> Result<Advice, String> {
        writeln!(self.to, "{request}").and_then(|()| self.to.flush()).map_err(|e| format!("writing: {e}"))?;
        let mut line = String::new();
        if self.from.read_line(&mut line).map_err(|e| format!("reading: {e}"))? == 0 {
            return Err("the program ended".into());
        }
        let answer: Answer = serde_json::from_str(&line).map_err(|e| format!("{e} in {}", line.trim()))?;
        answer.advice.ok_or_else(|| format!("answered {:?} to {request}", answer.error))
    }
}

impl Drop for Exec {
    fn drop(&mut self) {
        // The program may end by itself at end of input; it is ended in any case.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Agent for Exec {
    fn open(&mut self, open: &Open) -> Result<Advice, String> {
        self.say(&json!({ "open": open }))
    }

    fn shot(&mut self, shot: &Shot) -> Result<Advice, String> {
        self.say(&json!({ "shot": shot }))
    }

    fn ask(&mut self) -> Result<Advice, String> {
        self.say(&json!({ "ask": {} }))
    }
}
