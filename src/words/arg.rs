//! What goes into a message: whole numbers as numbers, everything else as it displays itself.

use std::fmt::Display;

use fluent_bundle::FluentValue;

/// A value on its way into a message.
#[derive(Debug)]
pub struct Arg<T>(pub T);

/// Whole numbers: a plural can be chosen by them.
pub trait Figure {
    /// The number.
    fn arg(&self) -> FluentValue<'static>;
}

/// Anything else that displays itself.
pub trait Text {
    /// What it displays.
    fn arg(&self) -> FluentValue<'static>;
}

macro_rules! figures {
    ($($whole:ty),+) => {$(
        impl Figure for Arg<&$whole> {
            fn arg(&self) -> FluentValue<'static> {
                FluentValue::from(*self.0)
            }
        }
        impl Figure for Arg<&&$whole> {
            fn arg(&self) -> FluentValue<'static> {
                FluentValue::from(**self.0)
            }
        }
    )+};
}

figures!(u8, u16, u32, u64, usize, i8, i16, i32, i64, isize);

// One reference more than `Figure`, so that a whole number finds that one first.
impl<T: Display + ?Sized> Text for &Arg<&T> {
    fn arg(&self) -> FluentValue<'static> {
        FluentValue::from(self.0.to_string())
    }
}
