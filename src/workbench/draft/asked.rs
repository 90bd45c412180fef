//! What a form asks about once before it saves.

/// Questions that stand in a form since saving was tried. Saving once more, with nothing else typed, answers them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AskedOnce(Vec<String>);

impl AskedOnce {
    /// The questions that stand, a sentence each.
    #[must_use]
    pub fn standing(&self) -> &[String] {
        &self.0
    }

    /// Lets go of the questions once something else is typed: when the form's doubts are now others than those.
    pub fn forget_unless(&mut self, doubts: &[String]) {
        if self.0 != doubts {
            self.0.clear();
        }
    }

    /// Whether the form's doubts are still to be asked about before it is saved; from now on they stand.
    #[must_use]
    pub fn asks(&mut self, doubts: Vec<String>) -> bool {
        let new = !doubts.is_empty() && doubts != self.0;
        if new {
            self.0 = doubts;
        }
        new
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn doubts(of: &[&str]) -> Vec<String> {
        of.iter().map(|text| (*text).to_owned()).collect()
    }

    #[test]
    fn each_doubt_is_asked_about_once_until_something_else_is_typed() {
        let mut asked = AskedOnce::default();
        assert!(!asked.asks(Vec::new()), "nothing to ask about");
        let fast = doubts(&["0.5 s?"]);
        assert!(asked.asks(fast.clone()));
        asked.forget_unless(&fast);
        assert_eq!(asked.standing(), fast);
        assert!(!asked.asks(fast.clone()), "saving once more answers it");
        // Another doubt is a question of its own; the first, typed again, is new.
        assert!(asked.asks(doubts(&["0.5 s?", "9 g?"])));
        asked.forget_unless(&[]);
        assert!(asked.standing().is_empty());
        assert!(asked.asks(fast));
    }
}
