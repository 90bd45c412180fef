//! RON in and out: a writer with our own layout, and records whose unknown fields survive.
//!
//! Reading goes through `ron` and serde. Writing does not: the layout is meant for people (one field a line, small
//! values on one line), and fields that this version does not know have to be written back as they were found.

use serde::de;

use super::locate::Step;

/// Text in RON, being written.
#[derive(Debug, Default)]
pub(crate) struct Ron {
    text: String,
    frames: Vec<Frame>,
}

#[derive(Debug, Clone, Copy)]
struct Frame {
    inline: bool,
    empty: bool,
}

/// How a record is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Layout {
    /// On one line.
    Inline,
    /// One field a line.
    Lines,
}

/// A value of the disk format.
pub(crate) trait DiskValue {
    /// Writes the value.
    fn write(&self, ron: &mut Ron);

    /// Takes over what an older copy of the same value holds that this version does not know.
    fn adopt(&mut self, _old: Self)
    where
        Self: Sized,
    {
    }

    /// Calls `found` with the way to, and the name of, each field that this version does not know.
    fn unknown_fields<'a>(&'a self, _way: &mut Vec<Step<'a>>, _found: &mut dyn FnMut(&[Step<'a>], &'a str)) {}
}

impl Ron {
    /// The value as a document of its own, with a line end.
    pub(crate) fn document(value: &impl DiskValue) -> String {
        let mut ron = Self::default();
        value.write(&mut ron);
        ron.text.push('\n');
        ron.text
    }

    /// The value on one line, without a line end.
    pub(crate) fn line(value: &impl DiskValue) -> String {
        let mut ron = Self::default();
        ron.frames.push(Frame { inline: true, empty: true });
        value.write(&mut ron);
        ron.text
    }

    pub(crate) fn raw(&mut self, text: &str) {
        self.text.push_str(text);
    }

    pub(crate) fn begin(&mut self, bracket: char, layout: Layout) {
        self.text.push(bracket);
        let inline = layout == Layout::Inline || self.frames.last().is_some_and(|frame| frame.inline);
        self.frames.push(Frame { inline, empty: true });
    }

    /// Starts a field or an item: what has to stand before it.
    fn next(&mut self) {
        let depth = self.frames.iter().filter(|frame| !frame.inline).count();
        let Some(frame) = self.frames.last_mut() else { return };
        match (frame.inline, frame.empty) {
            (true, true) => {}
            (true, false) => self.text.push_str(", "),
            (false, _) => {
                self.text.push('\n');
                self.text.extend(std::iter::repeat_n("    ", depth));
            }
        }
        frame.empty = false;
    }

    fn done(&mut self) {
        if self.frames.last().is_some_and(|frame| !frame.inline) {
            self.text.push(',');
        }
    }

    pub(crate) fn field(&mut self, name: &str, value: &impl DiskValue) {
        self.next();
        self.text.push_str(name);
        self.text.push_str(": ");
        value.write(self);
        self.done();
    }

    pub(crate) fn item(&mut self, value: &impl DiskValue) {
        self.next();
        value.write(self);
        self.done();
    }

    fn unknown(&mut self, fields: &Unknown) {
        for (name, raw) in fields.iter() {
            self.next();
            self.text.push_str(name);
            self.text.push_str(": ");
            self.text.push_str(raw);
            // The kept text may end in a line comment, which must not swallow what follows.
            if raw.contains("//") {
                self.text.push('\n');
            }
            self.done();
        }
    }

    pub(crate) fn end(&mut self, bracket: char) {
        if let Some(frame) = self.frames.pop()
            && !frame.inline
            && !frame.empty
        {
            let depth = self.frames.iter().filter(|frame| !frame.inline).count();
            self.text.push('\n');
            self.text.extend(std::iter::repeat_n("    ", depth));
        }
        self.text.push(bracket);
    }

    /// Ends a record: unknown fields, then the bracket.
    pub(crate) fn end_record(&mut self, unknown: &Unknown) {
        self.unknown(unknown);
        self.end(')');
    }
}

/// Fields that this version does not know, as they were found: name and RON text.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Unknown(Vec<(String, String)>);

impl Unknown {
    pub(crate) fn push(&mut self, name: String, raw: String) {
        self.0.push((name, raw));
    }

    pub(crate) fn has(&self, name: &str) -> bool {
        self.0.iter().any(|(known, _)| known == name)
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = &(String, String)> {
        self.0.iter()
    }
}

impl DiskValue for bool {
    fn write(&self, ron: &mut Ron) {
        ron.raw(if *self { "true" } else { "false" });
    }
}

impl DiskValue for u32 {
    fn write(&self, ron: &mut Ron) {
        ron.raw(&self.to_string());
    }
}

impl DiskValue for String {
    fn write(&self, ron: &mut Ron) {
        ron.text.push('"');
        for c in self.chars() {
            match c {
                '"' => ron.text.push_str("\\\""),
                '\\' => ron.text.push_str("\\\\"),
                '\n' => ron.text.push_str("\\n"),
                '\r' => ron.text.push_str("\\r"),
                '\t' => ron.text.push_str("\\t"),
                // Line and paragraph separators would break an editor's idea of a line.
                c if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') => {
                    ron.text.extend(c.escape_unicode());
                }
                c => ron.text.push(c),
            }
        }
        ron.text.push('"');
    }
}

impl DiskValue for jiff::Timestamp {
    fn write(&self, ron: &mut Ron) {
        ron.raw(&format!("\"{self}\""));
    }
}

impl DiskValue for jiff::civil::Date {
    fn write(&self, ron: &mut Ron) {
        ron.raw(&format!("\"{self}\""));
    }
}

impl<T: DiskValue> DiskValue for Option<T> {
    fn write(&self, ron: &mut Ron) {
        match self {
            Some(value) => value.write(ron),
            None => ron.raw("None"),
        }
    }

    fn adopt(&mut self, old: Self) {
        if let (Some(new), Some(old)) = (self, old) {
            new.adopt(old);
        }
    }

    fn unknown_fields<'a>(&'a self, way: &mut Vec<Step<'a>>, found: &mut dyn FnMut(&[Step<'a>], &'a str)) {
        if let Some(value) = self {
            value.unknown_fields(way, found);
        }
    }
}

impl<T: DiskValue> DiskValue for Vec<T> {
    fn write(&self, ron: &mut Ron) {
        ron.begin('[', Layout::Lines);
        for value in self {
            ron.item(value);
        }
        ron.end(']');
    }

    fn unknown_fields<'a>(&'a self, way: &mut Vec<Step<'a>>, found: &mut dyn FnMut(&[Step<'a>], &'a str)) {
        for (at, value) in self.iter().enumerate() {
            way.push(Step::Item(at));
            value.unknown_fields(way, found);
            way.pop();
        }
    }
}

/// A finite number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Num(pub(crate) f64);

impl DiskValue for Num {
    fn write(&self, ron: &mut Ron) {
        number(self.0, ron);
    }
}

/// Shortest text that reads back as the same number; always with a point, an exponent or a word.
fn number(value: f64, ron: &mut Ron) {
    if value.is_nan() {
        ron.raw("NaN");
    } else if value.is_infinite() {
        ron.raw(if value > 0.0 { "inf" } else { "-inf" });
    } else {
        ron.raw(&format!("{value:?}"));
    }
}

impl<'de> de::Deserialize<'de> for Num {
    fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = f64::deserialize(deserializer)?;
        if value.is_finite() {
            Ok(Self(value))
        } else {
            Err(de::Error::custom(word!("store-text-not-finite")))
        }
    }
}

/// A long row of samples, several to a line; a missing one is NaN.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Samples(pub(crate) Vec<f64>);

impl<'de> de::Deserialize<'de> for Samples {
    fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Vec::deserialize(deserializer).map(Self)
    }
}

impl DiskValue for Samples {
    fn write(&self, ron: &mut Ron) {
        ron.raw("[");
        for (at, &value) in self.0.iter().enumerate() {
            ron.raw(if at % 16 == 0 { "\n        " } else { " " });
            number(value, ron);
            ron.raw(",");
        }
        ron.raw("\n    ]");
    }
}

/// Defines a record of the disk format: a struct whose `must` fields have to be there, whose `may` fields are left
/// out while they have their default, and whose unknown fields are kept. After `check` may stand a function that
/// refuses values which make no sense together.
macro_rules! record {
    (
        $(#[$meta:meta])*
        $name:ident $layout:ident $(check $check:path)? {
            $( $(#[$field_meta:meta])* $need:ident $field:ident : $ty:ty, )*
        }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq)]
        pub(crate) struct $name {
            $( $(#[$field_meta])* pub(crate) $field: $ty, )*
            /// Fields of a newer version.
            pub(crate) unknown: $crate::store::text::Unknown,
        }

        const _: () = {
            use serde::de;
            use $crate::store::locate::Step;
            use $crate::store::text::{DiskValue, Layout, Ron, Unknown};

            const FIELDS: &[&str] = &[$( stringify!($field) ),*];

            #[allow(non_camel_case_types)]
            enum FieldName { $( $field, )* Other(String) }

            struct KeyVisitor;

            impl<'de> de::Visitor<'de> for KeyVisitor {
                type Value = FieldName;

                fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                    f.write_str("the name of a field")
                }

                fn visit_str<E: de::Error>(self, text: &str) -> Result<FieldName, E> {
                    Ok(match text {
                        $( stringify!($field) => FieldName::$field, )*
                        other => FieldName::Other(other.to_owned()),
                    })
                }
            }

            impl<'de> de::Deserialize<'de> for FieldName {
                fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                    deserializer.deserialize_identifier(KeyVisitor)
                }
            }

            struct RecordVisitor;

            impl<'de> de::Visitor<'de> for RecordVisitor {
                type Value = $name;

                fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                    f.write_str("a record of named fields in parentheses")
                }

                fn visit_map<A: de::MapAccess<'de>>(self, mut map: A) -> Result<$name, A::Error> {
                    $( let mut $field: Option<$ty> = None; )*
                    let mut unknown = Unknown::default();
                    while let Some(key) = map.next_key::<FieldName>()? {
                        match key {
                            $( FieldName::$field => {
                                if $field.is_some() {
                                    return Err(de::Error::duplicate_field(stringify!($field)));
                                }
                                $field = Some(map.next_value()?);
                            } )*
                            FieldName::Other(name) => {
                                let raw: Box<ron::value::RawValue> = map.next_value()?;
                                unknown.push(name, raw.get_ron().to_owned());
                            }
                        }
                    }
                    let record = $name {
                        $( $field: record!(@take $need $field), )*
                        unknown,
                    };
                    $( $check(&record).map_err(de::Error::custom)?; )?
                    Ok(record)
                }
            }

            impl<'de> de::Deserialize<'de> for $name {
                fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                    deserializer.deserialize_struct(stringify!($name), FIELDS, RecordVisitor)
                }
            }

            impl DiskValue for $name {
                fn write(&self, ron: &mut Ron) {
                    ron.begin('(', Layout::$layout);
                    $( record!(@write $need self ron $field $ty); )*
                    ron.end_record(&self.unknown);
                }

                fn adopt(&mut self, old: Self) {
                    self.unknown = old.unknown;
                    $( self.$field.adopt(old.$field); )*
                }

                fn unknown_fields<'a>(
                    &'a self,
                    way: &mut Vec<Step<'a>>,
                    found: &mut dyn FnMut(&[Step<'a>], &'a str),
                ) {
                    for (name, _) in self.unknown.iter() {
                        found(way, name);
                    }
                    $(
                        way.push(Step::Field(stringify!($field)));
                        self.$field.unknown_fields(way, found);
                        way.pop();
                    )*
                }
            }
        };
    };
    (@take must $field:ident) => {
        match $field {
            Some(value) => value,
            None => return Err(de::Error::missing_field(stringify!($field))),
        }
    };
    (@take may $field:ident) => { $field.unwrap_or_default() };
    (@write must $self:ident $ron:ident $field:ident $ty:ty) => {
        $ron.field(stringify!($field), &$self.$field);
    };
    (@write may $self:ident $ron:ident $field:ident $ty:ty) => {
        if $self.$field != <$ty>::default() {
            $ron.field(stringify!($field), &$self.$field);
        }
    };
}
pub(crate) use record;

/// Defines the words of an enumeration on disk, as a wrapper of the domain's own type.
macro_rules! words {
    ($(#[$meta:meta])* $name:ident of $domain:ty { $( $word:literal = $value:path, )* }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub(crate) struct $name(pub(crate) $domain);

        const _: () = {
            use serde::de;
            use $crate::store::text::{DiskValue, Ron};

            const WORDS: &[&str] = &[$( $word ),*];

            struct WordSeed;

            impl<'de> de::Visitor<'de> for WordSeed {
                type Value = $name;

                fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                    write!(f, "one of the words {}", WORDS.join(", "))
                }

                fn visit_str<E: de::Error>(self, text: &str) -> Result<$name, E> {
                    match text {
                        $( $word => Ok($name($value)), )*
                        other => Err(E::custom(say!(
                            "store-text-unknown-word",
                            word = other.chars().take(40).collect::<String>(),
                            words = WORDS.join(", ")))),
                    }
                }
            }

            impl<'de> de::DeserializeSeed<'de> for WordSeed {
                type Value = $name;

                fn deserialize<D: de::Deserializer<'de>>(self, deserializer: D) -> Result<$name, D::Error> {
                    deserializer.deserialize_identifier(self)
                }
            }

            struct WordVisitor;

            impl<'de> de::Visitor<'de> for WordVisitor {
                type Value = $name;

                fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                    write!(f, "one of the words {}", WORDS.join(", "))
                }

                fn visit_enum<A: de::EnumAccess<'de>>(self, access: A) -> Result<$name, A::Error> {
                    let (word, rest) = access.variant_seed(WordSeed)?;
                    de::VariantAccess::unit_variant(rest)?;
                    Ok(word)
                }
            }

            impl<'de> de::Deserialize<'de> for $name {
                fn deserialize<D: de::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                    deserializer.deserialize_enum(stringify!($name), WORDS, WordVisitor)
                }
            }

            impl DiskValue for $name {
                fn write(&self, ron: &mut Ron) {
                    ron.raw(match self.0 { $( $value => $word, )* });
                }
            }
        };
    };
}
pub(crate) use words;
