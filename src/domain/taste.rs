//! How a cup tasted: just-about-right marks (five points, ASTM MNL63 names the method) and nine-point liking
//! (Peryam and Pilgrim, Food Technology 11, 1957).

/// What a mark judges.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Attribute {
    /// Sourness.
    Sourness,
    /// Bitterness.
    Bitterness,
    /// Strength.
    Strength,
    /// Body.
    Body,
    /// Astringency: a dry, puckering feel.
    Astringency,
    /// Sweetness.
    Sweetness,
}

impl Attribute {
    /// All six, in the order of entry.
    pub const ALL: [Self; 6] =
        [Self::Sourness, Self::Bitterness, Self::Strength, Self::Body, Self::Astringency, Self::Sweetness];
}

/// A just-about-right mark: −2 far too little, 0 just right, +2 far too much.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub struct Mark(i8);

impl Mark {
    /// "Just right".
    pub const RIGHT: Self = Self(0);

    /// Makes a mark from −2…2; `None` outside.
    #[must_use]
    pub fn new(value: i64) -> Option<Self> {
        i8::try_from(value).ok().filter(|v| (-2..=2).contains(v)).map(Self)
    }

    /// The mark as a number, −2…2.
    #[must_use]
    pub fn value(self) -> i8 {
        self.0
    }
}

/// Marks and liking of one cup by one drinker. Everything may be missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub struct Taste {
    /// Marks, indexed as [`Attribute::ALL`].
    marks: [Option<Mark>; 6],
    /// Liking, 1…9.
    liking: Option<u8>,
}

impl Taste {
    /// The mark for an attribute.
    #[must_use]
    pub fn mark(&self, attribute: Attribute) -> Option<Mark> {
        self.marks.get(attribute as usize).copied().flatten()
    }

    /// Sets or clears the mark for an attribute.
    pub fn set_mark(&mut self, attribute: Attribute, mark: Option<Mark>) {
        if let Some(slot) = self.marks.get_mut(attribute as usize) {
            *slot = mark;
        }
    }

    /// Liking, 1 (dislike extremely) to 9 (like extremely).
    #[must_use]
    pub fn liking(&self) -> Option<u8> {
        self.liking
    }

    /// Sets or clears the liking. Returns false, changing nothing, outside 1…9.
    pub fn set_liking(&mut self, liking: Option<i64>) -> bool {
        match liking {
            None => self.liking = None,
            Some(value @ 1..=9) => self.liking = u8::try_from(value).ok(),
            Some(_) => return false,
        }
        true
    }

    /// Whether nothing was said.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.liking.is_none() && self.marks.iter().all(Option::is_none)
    }
}
