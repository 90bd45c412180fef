//! What the person should know: sentences, some with a way to act.

/// How weighty a notice is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoticeLevel {
    /// Something was done.
    Done,
    /// Something went wrong or needs care.
    Problem,
}

/// What a notice offers to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoticeAction {
    /// Take back the edit that it reports.
    Undo,
    /// Try again to write the notebook (or write it elsewhere).
    RetryWriting,
    /// Bring back what was put away without saving.
    BringBack,
    /// Write the notebook into another folder.
    SaveElsewhere,
    /// Show what came together.
    ShowMerged,
}

/// One sentence for the person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// Number within the session; never used twice.
    pub number: u64,
    /// How weighty.
    pub level: NoticeLevel,
    /// The sentence.
    pub text: String,
    /// What it offers.
    pub action: Option<NoticeAction>,
    /// Whether it stays until it is settled or dismissed, rather than fading.
    pub lasting: bool,
}

impl Notice {
    /// Something was done, and can be taken back.
    #[must_use]
    pub fn done(text: impl Into<String>) -> Self {
        let action = Some(NoticeAction::Undo);
        Self { number: 0, level: NoticeLevel::Done, text: text.into(), action, lasting: false }
    }

    /// Something to know that offers nothing.
    #[must_use]
    pub fn info(text: impl Into<String>) -> Self {
        Self { number: 0, level: NoticeLevel::Done, text: text.into(), action: None, lasting: false }
    }

    /// Something went wrong.
    #[must_use]
    pub fn problem(text: impl Into<String>) -> Self {
        Self { number: 0, level: NoticeLevel::Problem, text: text.into(), action: None, lasting: true }
    }

    /// Something went wrong that can be acted on.
    #[must_use]
    pub fn lasting(text: impl Into<String>, action: NoticeAction) -> Self {
        let action = Some(action);
        Self { number: 0, level: NoticeLevel::Problem, text: text.into(), action, lasting: true }
    }
}

/// The notices of this session, oldest first.
#[derive(Debug, Default)]
pub struct Notices {
    list: Vec<Notice>,
    made: u64,
}

impl Notices {
    /// Notices kept at most; the oldest go first.
    pub const LIMIT: usize = 50;

    /// Adds a notice and gives its number. The same problem is not listed twice.
    pub fn add(&mut self, mut notice: Notice) -> u64 {
        if notice.lasting
            && let Some(same) = self.list.iter().find(|old| old.text == notice.text)
        {
            return same.number;
        }
        self.made += 1;
        notice.number = self.made;
        self.list.push(notice);
        if self.list.len() > Self::LIMIT {
            self.list.remove(0);
        }
        self.made
    }

    /// All, oldest first.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &Notice> {
        self.list.iter()
    }

    /// Dismisses one.
    pub fn dismiss(&mut self, number: u64) {
        self.list.retain(|notice| notice.number != number);
    }

    /// Drops what was only said in passing: done, nothing to act on.
    pub fn drop_passing(&mut self) {
        self.list.retain(|notice| {
            notice.lasting || notice.level == NoticeLevel::Problem || notice.action.is_some()
        });
    }

    /// Drops all that offer `action`, because it is settled or no longer makes sense.
    pub fn drop_action(&mut self, action: NoticeAction) {
        self.list.retain(|notice| notice.action != Some(action));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_was_said_in_passing_gives_way() {
        let mut notices = Notices::default();
        notices.add(Notice::info("the clock was stopped"));
        notices.add(Notice::done("pull 3"));
        notices.add(Notice::problem("a file cannot be read"));
        let mut passing = Notice::problem("nothing can be changed here");
        passing.lasting = false;
        notices.add(passing);
        notices.drop_passing();
        let left: Vec<&str> = notices.iter().map(|notice| notice.text.as_str()).collect();
        assert_eq!(left, ["pull 3", "a file cannot be read", "nothing can be changed here"]);
    }
}
