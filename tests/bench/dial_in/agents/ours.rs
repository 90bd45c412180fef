//! THE HOOK FOR THE LIBRARY'S OWN ADVISOR: the one file to change when it is there.
//!
//! Until then `--agent ours` drives a program that speaks the protocol, `--exec "PROGRAM advise"` or, without it, the
//! binary named by `THIRDPULL_BIN`. In process, wrap the advisor's session in a type that implements [`Agent`] and
//! return it from [`make`]; nothing else in the bench needs to know.

use super::Agent;
use super::exec::Exec;

/// A fresh session of the advisor.
pub fn make(command: Option<&str>) -> Result<Box<dyn Agent>, String> {
    let command = match command {
        Some(c) => c.to_owned(),
        None => std::env::var("THIRDPULL_BIN")
            .map(|b| format!("{b} advise"))
            .map_err(|e| format!("--agent ours needs --exec \"PROGRAM advise\" or THIRDPULL_BIN: {e}"))?,
    };
    Ok(Box::new(Exec::start(&command)?))
}
