//! The messages of one language.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fmt;
use std::sync::{Mutex, PoisonError};

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};
use unic_langid::LanguageIdentifier;

/// The largest file of a language that is read, in bytes.
pub const MAX_BYTES: usize = 4 << 20;

/// Why a language's file cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct Damage {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong there.
    pub what: String,
}

/// The messages of one language, ready to be said.
pub struct Catalogue {
    tag: String,
    bundle: FluentBundle<FluentResource>,
    plain: HashMap<String, &'static str>,
    wants: BTreeMap<String, BTreeSet<String>>,
    wrap: Option<(char, char)>,
}

impl fmt::Debug for Catalogue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Catalogue").field("tag", &self.tag).field("plain", &self.plain.len()).finish()
    }
}

/// What is done to each piece of text of a made-up language.
type Change = fn(&str) -> std::borrow::Cow<'_, str>;

/// Keeps each text once for as long as the program runs, so that reading a language again costs nothing. For few
/// texts only: none is ever let go.
#[must_use]
pub fn kept(text: String) -> &'static str {
    static KEPT: Mutex<Option<HashSet<&'static str>>> = Mutex::new(None);
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    let kept = kept.get_or_insert_default();
    if let Some(text) = kept.get(text.as_str()) {
        return text;
    }
    let text: &'static str = Box::leak(text.into_boxed_str());
    kept.insert(text);
    text
}

fn line_of(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count()
}

/// Names of the arguments that a text asks for.
fn wanted(pattern: &Pattern<&str>, into: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        if let PatternElement::Placeable { expression } = element {
            wanted_by(expression, into);
        }
    }
}

fn wanted_by(expression: &Expression<&str>, into: &mut BTreeSet<String>) {
    let inline = match expression {
        Expression::Inline(inline) => inline,
        Expression::Select { selector, variants } => {
            variants.iter().for_each(|variant| wanted(&variant.value, into));
            selector
        }
    };
    match inline {
        InlineExpression::VariableReference { id } => drop(into.insert(id.name.to_owned())),
        InlineExpression::Placeable { expression } => wanted_by(expression, into),
        InlineExpression::FunctionReference { arguments, .. } => {
            for given in &arguments.positional {
                if let InlineExpression::VariableReference { id } = given {
                    into.insert(id.name.to_owned());
                }
            }
        }
        _ => {}
    }
}

impl Catalogue {
    /// Reads a language: `tag` such as `nl` or `pt-BR`, `text` the file in the syntax of Fluent.
    ///
    /// # Errors
    /// The first line that cannot be read, or a name that stands there twice, or a tag that is no language.
    pub fn read(tag: &str, text: &str) -> Result<Self, Damage> {
        if text.len() > MAX_BYTES {
            return Err(Damage { line: 1, what: "the file is too large".to_owned() });
        }
        let resource = FluentResource::try_new(text.to_owned()).map_err(|(_, faults)| {
            let first = faults.into_iter().min_by_key(|fault| fault.pos.start);
            first.map_or_else(
                || Damage { line: 1, what: "not readable".to_owned() },
                |fault| Damage { line: line_of(text, fault.pos.start), what: fault.kind.to_string() },
            )
        })?;
        Self::of(tag, resource, None).map_err(|name| {
            let mut lines = text.lines().enumerate().filter(|(_, line)| {
                line.strip_prefix(name.as_str()).is_some_and(|rest| rest.trim_start().starts_with('='))
            });
            let line = lines.nth(1).map_or(1, |(at, _)| at + 1);
            Damage {
                line,
                what: format!("“{name}” cannot be used: it stands there twice, or is no language"),
            }
        })
    }

    /// Reads what can be read of a file that is known to be sound: the built-in one, which a test proves so.
    pub(super) fn lenient(tag: &str, text: &str) -> Self {
        let resource = FluentResource::try_new(text.to_owned()).unwrap_or_else(|(resource, _)| resource);
        Self::of(tag, resource, None).unwrap_or_else(|_| Self {
            tag: tag.to_owned(),
            bundle: FluentBundle::new_concurrent(Vec::new()),
            plain: HashMap::new(),
            wants: BTreeMap::new(),
            wrap: None,
        })
    }

    /// A language with its texts changed by `change` and each message between two marks.
    pub(super) fn changed(tag: &str, text: &str, change: Change, marks: (char, char)) -> Self {
        let resource = FluentResource::try_new(text.to_owned()).unwrap_or_else(|(resource, _)| resource);
        Self::of(tag, resource, Some((change, marks))).unwrap_or_else(|_| Self::lenient(tag, text))
    }

    /// The name that cannot be used is the error.
    fn of(
        tag: &str,
        resource: FluentResource,
        change: Option<(Change, (char, char))>,
    ) -> Result<Self, String> {
        let language: LanguageIdentifier = tag.parse().map_err(|_unknown| tag.to_owned())?;
        let mut bundle = FluentBundle::new_concurrent(vec![language]);
        bundle.set_use_isolating(false);
        let mut ids = Vec::new();
        let mut wants = BTreeMap::new();
        for entry in resource.entries() {
            let Entry::Message(message) = entry else { continue };
            let mut args = BTreeSet::new();
            message.value.iter().for_each(|pattern| wanted(pattern, &mut args));
            ids.push(message.id.name.to_owned());
            wants.insert(message.id.name.to_owned(), args);
        }
        if let Some((change, _)) = change {
            bundle.set_transform(Some(change));
        }
        let mut seen = HashSet::new();
        if let Some(twice) = ids.iter().find(|id| !seen.insert(id.as_str())) {
            return Err(twice.clone());
        }
        bundle.add_resource_overriding(resource);
        let wrap = change.map(|(_, marks)| marks);
        let mut all = Self { tag: tag.to_owned(), bundle, plain: HashMap::new(), wants, wrap };
        for id in ids {
            // A message that wants arguments gives an error without them, and is none of these.
            if let Some(text) = all.format(&id, None) {
                all.plain.insert(id, kept(text));
            }
        }
        Ok(all)
    }

    /// The language's tag, such as `en`.
    #[must_use]
    pub fn tag(&self) -> &str {
        &self.tag
    }

    /// The names of its messages, sorted.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.wants.keys().map(String::as_str)
    }

    /// The names of the arguments that a message of it asks for; `None` where it has no such message.
    #[must_use]
    pub fn wants(&self, id: &str) -> Option<&BTreeSet<String>> {
        self.wants.get(id)
    }

    /// The message without arguments of this name.
    #[must_use]
    pub fn plain(&self, id: &str) -> Option<&'static str> {
        self.plain.get(id).copied()
    }

    /// The message of this name with its arguments; `None` where it is missing or wants an argument that is not given.
    #[must_use]
    pub fn said(&self, id: &str, args: &[(&'static str, FluentValue<'_>)]) -> Option<String> {
        let args: FluentArgs<'_> = args.iter().map(|(name, value)| (*name, value.clone())).collect();
        self.format(id, Some(&args))
    }

    fn format(&self, id: &str, args: Option<&FluentArgs<'_>>) -> Option<String> {
        let pattern = self.bundle.get_message(id)?.value()?;
        let mut faults = Vec::new();
        let text = self.bundle.format_pattern(pattern, args, &mut faults);
        faults.is_empty().then(|| match self.wrap {
            Some((open, close)) => format!("{open}{text}{close}"),
            None => text.into_owned(),
        })
    }
}
