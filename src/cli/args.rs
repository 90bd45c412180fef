//! Arguments shared by the commands.

use std::ffi::OsString;
use std::path::PathBuf;

/// Why the arguments could not be understood: one sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Usage(pub String);

impl From<lexopt::Error> for Usage {
    fn from(fault: lexopt::Error) -> Self {
        Self(fault.to_string())
    }
}

/// Which notebook a command works on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Place {
    /// The folder given by `--notebook`, if one was.
    pub notebook: Option<PathBuf>,
}

/// What a command was given, split by the options it knows.
#[derive(Debug, Default)]
pub struct Given {
    /// `--help` was asked for.
    pub help: bool,
    /// The notebook.
    pub place: Place,
    /// Options with a value, as (name, value), in order.
    pub values: Vec<(String, OsString)>,
    /// Options without a value.
    pub switches: Vec<String>,
    /// The rest.
    pub free: Vec<OsString>,
}

impl Given {
    /// Reads arguments; `with_value` and `bare` name the long options that the command knows beside `--notebook`
    /// and `--help`.
    ///
    /// # Errors
    /// [`Usage`] for an option that the command does not know or a missing value.
    pub fn read(args: Vec<OsString>, with_value: &[&str], bare: &[&str]) -> Result<Self, Usage> {
        use lexopt::prelude::*;
        let mut parser = lexopt::Parser::from_args(args);
        let mut given = Self::default();
        while let Some(arg) = parser.next()? {
            match arg {
                Short('h') | Long("help") => given.help = true,
                Long("notebook") => given.place.notebook = Some(parser.value()?.into()),
                Long(name) if with_value.contains(&name) => {
                    let name = name.to_owned();
                    given.values.push((name, parser.value()?));
                }
                Long(name) if bare.contains(&name) => given.switches.push(name.to_owned()),
                Value(value) => given.free.push(value),
                other => return Err(other.unexpected().into()),
            }
        }
        Ok(given)
    }

    /// The last value given for an option.
    #[must_use]
    pub fn value(&self, name: &str) -> Option<&OsString> {
        self.values.iter().rev().find(|(known, _)| known == name).map(|(_, value)| value)
    }

    /// Whether a switch was given.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.switches.iter().any(|known| known == name)
    }
}
