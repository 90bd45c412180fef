//! Every string that a person reads, by name, from one catalogue a language (Fluent, with its plural rules).
//!
//! English is built in and complete. Any other language is one file `XX.ftl` that a person adds; what it lacks stays
//! English. [`word!`](crate::word) gives a message without arguments, [`say!`](crate::say) one with arguments.

mod arg;
mod catalogue;
mod folder;
mod made_up;
mod written;

use std::cell::Cell;
use std::sync::{OnceLock, PoisonError, RwLock};

pub use arg::{Arg, Figure, Text};
pub use catalogue::{Catalogue, Damage, MAX_BYTES, kept};
pub use folder::{Language, choose, languages};
pub use made_up::{made_up, made_up_of};
pub use written::{id_of, written};

/// The English catalogue as its file stands.
pub const ENGLISH: &str = include_str!("../../assets/words/en.ftl");

static CHOSEN: RwLock<Option<&'static Catalogue>> = RwLock::new(None);

thread_local! {
    static OWN: Cell<Option<&'static Catalogue>> = const { Cell::new(None) };
}

/// English, read once.
#[must_use]
pub fn english() -> &'static Catalogue {
    static CELL: OnceLock<Catalogue> = OnceLock::new();
    CELL.get_or_init(|| Catalogue::lenient("en", ENGLISH))
}

/// The name of a message without arguments, said in whatever language is in use when it is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Name(&'static str);

impl Name {
    /// A message's name in `assets/words/en.ftl`.
    #[must_use]
    pub const fn new(id: &'static str) -> Self {
        Self(id)
    }

    /// The message.
    #[must_use]
    pub fn word(self) -> &'static str {
        word(self.0)
    }
}

impl std::fmt::Display for Name {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.word())
    }
}

/// The catalogue in use: this thread's own, else the one that was chosen, else English.
#[must_use]
pub fn current() -> &'static Catalogue {
    OWN.with(Cell::get)
        .or_else(|| *CHOSEN.read().unwrap_or_else(PoisonError::into_inner))
        .unwrap_or_else(english)
}

/// Chooses the catalogue for the whole program; `None` is English.
pub fn put(catalogue: Option<&'static Catalogue>) {
    *CHOSEN.write().unwrap_or_else(PoisonError::into_inner) = catalogue;
}

/// Chooses the catalogue for this thread alone, for tests; `None` follows the program again.
pub fn put_for_thread(catalogue: Option<&'static Catalogue>) {
    OWN.with(|own| own.set(catalogue));
}

/// Does something in a language: a worker speaks that of who asked it.
pub fn within<T>(catalogue: &'static Catalogue, work: impl FnOnce() -> T) -> T {
    let before = OWN.with(|own| own.replace(Some(catalogue)));
    let done = work();
    OWN.with(|own| own.set(before));
    done
}

/// The message of this name in the language in use alone, for sentences whose English stands elsewhere: those of the
/// packs that come with the program.
#[must_use]
pub fn found(id: &str) -> Option<&'static str> {
    current().plain(id)
}

/// The message without arguments of this name; the name itself where neither language has it.
#[must_use]
pub fn word(id: &'static str) -> &'static str {
    current().plain(id).or_else(|| english().plain(id)).unwrap_or(id)
}

/// The message of this name with its arguments; the name itself where neither language has it.
#[must_use]
pub fn say(id: &'static str, args: &[(&'static str, fluent_bundle::FluentValue<'_>)]) -> String {
    current().said(id, args).or_else(|| english().said(id, args)).unwrap_or_else(|| id.to_owned())
}

/// A message without arguments, by its name in `assets/words/en.ftl`: a `&'static str`.
#[macro_export]
macro_rules! word {
    ($id:literal) => {
        $crate::words::word($id)
    };
}

/// The name of a message without arguments, for tables that are constants: a [`Name`](crate::words::Name).
#[macro_export]
macro_rules! name {
    ($id:literal) => {
        $crate::words::Name::new($id)
    };
}

/// A message with arguments, by its name in `assets/words/en.ftl`: a `String`.
///
/// Whole numbers go in as numbers, so that a language can choose its plural by them; anything else goes in as it
/// displays itself.
#[macro_export]
macro_rules! say {
    ($id:literal, $($name:ident = $value:expr),+ $(,)?) => {{
        #[allow(unused_imports)]
        use $crate::words::{Figure as _, Text as _};
        $crate::words::say($id, &[$((stringify!($name), (&$crate::words::Arg(&$value)).arg())),+])
    }};
}

#[cfg(test)]
mod tests;
