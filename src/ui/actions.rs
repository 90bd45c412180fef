//! Everything that a key, a button or the palette can ask for. One table supplies names, keys and help.

use eframe::egui::{Context, Key, KeyboardShortcut, Modifiers, Popup};

/// One thing to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Action {
    /// Starts the clock, marks the first drip, takes the cup away.
    Clock,
    /// Cup away without a mark for the first drip.
    CupAway,
    /// Opens the entry without the clock.
    EnterByHand,
    /// Shows another idea.
    AnotherIdea,
    /// Keeps the recipe.
    Keep,
    /// Shows or hides the reasons.
    Why,
    /// Covers or reveals the advice (class).
    Reveal,
    /// Selects the pull above.
    RowUp,
    /// Selects the pull below.
    RowDown,
    /// Changes the selected pull.
    EditPull,
    /// Removes the selected pull.
    RemovePull,
    /// Lays the selected pull's trace over the others, or takes it away.
    Overlay,
    /// Lays all pulls of the bag over each other.
    OverlayAll,
    /// Aligns traces by pump on or by first drip.
    Align,
    /// Attaches a trace file to the selected pull.
    Import,
    /// Compares any pulls of any bags.
    Compare,
    /// Listens to a live instrument.
    Live,
    /// The taste map and what the engine believes.
    Beliefs,
    /// The keeper's bar card, to print.
    BarCard,
    /// What would come of any recipe.
    WhatIf,
    /// Shows or hides the trace to expect of the next pull.
    Expected,
    /// A new bag.
    NewBag,
    /// Changes the bag.
    EditBag,
    /// Marks the bag used up, or takes it back.
    FinishBag,
    /// The bag above on the shelf.
    BagUp,
    /// The bag below on the shelf.
    BagDown,
    /// To the search field.
    Search,
    /// Stations.
    Stations,
    /// Drinkers.
    Drinkers,
    /// Settings.
    Settings,
    /// Takes the last edit back.
    Undo,
    /// Does it again.
    Redo,
    /// All actions by name.
    Palette,
    /// The key sheet.
    Keys,
    /// What was found wrong.
    Problems,
    /// The bar this morning.
    Opening,
    /// The notebook as a whole.
    Notebook,
    /// Earlier versions of the pull or the bag.
    Versions,
    /// Passes bags on.
    PassOn,
    /// Takes in what somebody passed on, or another copy of the notebook.
    TakeIn,
    /// The practice bench, or back to the bag.
    Practice,
    /// Home.
    Home,
    /// Bar.
    Bar,
    /// Class.
    Class,
    /// Dark or light.
    Dark,
    /// The whole screen.
    Fullscreen,
    /// Puts away whatever is open.
    Cancel,
    /// Ends the program.
    Quit,
}

/// When a key counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// Not while typing, and not while a dialog is open.
    Page,
    /// Not while anything has the keyboard's focus, and not while a dialog is open.
    Free,
    /// Always.
    Always,
}

/// A row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// What it does.
    pub action: Action,
    /// Its name on buttons and in the palette.
    pub name: &'static str,
    /// Its key as shown.
    pub key: &'static str,
    /// Its key.
    pub shortcut: KeyboardShortcut,
    /// When the key counts.
    pub when: When,
    /// Group on the key sheet.
    pub group: &'static str,
}

const fn plain(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::NONE, key)
}

const fn ctrl(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND, key)
}

macro_rules! row {
    ($action:ident, $name:literal, $key:literal, $shortcut:expr, $when:ident, $group:literal) => {
        Row {
            action: Action::$action,
            name: $name,
            key: $key,
            shortcut: $shortcut,
            when: When::$when,
            group: $group,
        }
    };
}

/// The table.
pub const TABLE: &[Row] = &[
    row!(Clock, "Pull: pump on, first drip, cup away", "Space", plain(Key::Space), Free, "Pull"),
    row!(CupAway, "Cup away without a first drip", "C", plain(Key::C), Page, "Pull"),
    row!(EnterByHand, "Enter a pull without the clock", "E", plain(Key::E), Page, "Pull"),
    row!(AnotherIdea, "Another idea", "A", plain(Key::A), Page, "Pull"),
    row!(Keep, "Keep this recipe", "K", plain(Key::K), Page, "Pull"),
    row!(Why, "All reasons", "W", plain(Key::W), Page, "Pull"),
    row!(Beliefs, "Taste map: what it believes", "V", plain(Key::V), Page, "Pull"),
    row!(WhatIf, "What if: move a lever, see what to expect", "Y", plain(Key::Y), Page, "Pull"),
    row!(BarCard, "Bar card of the keeper, to print", "J", plain(Key::J), Page, "Pull"),
    row!(Reveal, "Cover or reveal the advice", "R", plain(Key::R), Page, "Pull"),
    row!(RowUp, "Select the pull above", "↑", plain(Key::ArrowUp), Free, "Ledger and strips"),
    row!(RowDown, "Select the pull below", "↓", plain(Key::ArrowDown), Free, "Ledger and strips"),
    row!(EditPull, "Change the selected pull", "Enter", plain(Key::Enter), Free, "Ledger and strips"),
    row!(RemovePull, "Remove the selected pull", "Del", plain(Key::Delete), Free, "Ledger and strips"),
    row!(Overlay, "Lay the selected pull over the others", "O", plain(Key::O), Page, "Ledger and strips"),
    row!(OverlayAll, "Lay all pulls over each other", "G", plain(Key::G), Page, "Ledger and strips"),
    row!(Align, "Align by pump on or by first drip", "L", plain(Key::L), Page, "Ledger and strips"),
    row!(Expected, "The trace to expect of the next pull", "X", plain(Key::X), Page, "Ledger and strips"),
    row!(Import, "Attach a trace file", "T", plain(Key::T), Page, "Ledger and strips"),
    row!(Compare, "Compare any pulls", "M", plain(Key::M), Page, "Ledger and strips"),
    row!(Live, "Live instrument", "I", plain(Key::I), Page, "Ledger and strips"),
    row!(NewBag, "New bag", "B", plain(Key::B), Page, "Shelf"),
    row!(EditBag, "Change the bag", "F2", plain(Key::F2), Page, "Shelf"),
    row!(FinishBag, "Bag used up, or back to the shelf", "F", plain(Key::F), Page, "Shelf"),
    row!(BagUp, "Bag above", "[", plain(Key::OpenBracket), Page, "Shelf"),
    row!(BagDown, "Bag below", "]", plain(Key::CloseBracket), Page, "Shelf"),
    row!(Opening, "Opening: the bar this morning", "F4", plain(Key::F4), Page, "Shelf"),
    row!(Search, "Search the shelf", "/", plain(Key::Slash), Page, "Shelf"),
    row!(Stations, "Stations", "S", plain(Key::S), Page, "Shelf"),
    row!(Drinkers, "Drinkers", "D", plain(Key::D), Page, "Shelf"),
    row!(Notebook, "The notebook: backups, sharing, where it lies", "N", plain(Key::N), Page, "Notebook"),
    row!(Versions, "Earlier versions", "H", plain(Key::H), Page, "Notebook"),
    row!(PassOn, "Pass on a bag", "Ctrl P", ctrl(Key::P), Page, "Notebook"),
    row!(TakeIn, "Take in a packet or another notebook", "Ctrl O", ctrl(Key::O), Page, "Notebook"),
    row!(Undo, "Undo", "Ctrl Z", ctrl(Key::Z), Page, "Everywhere"),
    row!(Redo, "Redo", "Ctrl Y", ctrl(Key::Y), Page, "Everywhere"),
    row!(Palette, "All actions by name", "Ctrl K", ctrl(Key::K), Always, "Everywhere"),
    row!(Keys, "Keys", "?", plain(Key::Questionmark), Page, "Everywhere"),
    row!(Settings, "Settings", "Ctrl ,", ctrl(Key::Comma), Page, "Everywhere"),
    row!(Problems, "What was found wrong", "P", plain(Key::P), Page, "Everywhere"),
    row!(Practice, "Practice bench", "Ctrl B", ctrl(Key::B), Page, "Everywhere"),
    row!(Home, "Home", "Ctrl 1", ctrl(Key::Num1), Page, "Everywhere"),
    row!(Bar, "Bar: large targets", "Ctrl 2", ctrl(Key::Num2), Page, "Everywhere"),
    row!(Class, "Class: large type, advice covered", "Ctrl 3", ctrl(Key::Num3), Page, "Everywhere"),
    row!(Dark, "Light or dark", "Ctrl D", ctrl(Key::D), Page, "Everywhere"),
    row!(Fullscreen, "Whole screen", "F11", plain(Key::F11), Always, "Everywhere"),
    row!(Cancel, "Put away, give up", "Esc", plain(Key::Escape), Always, "Everywhere"),
    row!(Quit, "Quit", "Ctrl Q", ctrl(Key::Q), Always, "Everywhere"),
];

/// The table's row for an action.
#[must_use]
pub fn row(action: Action) -> Option<&'static Row> {
    TABLE.iter().find(|row| row.action == action)
}

/// The key of an action as shown.
#[must_use]
pub fn key(action: Action) -> &'static str {
    row(action).map_or("", |row| row.key)
}

/// Whether an action is about the bag's page, so that it means nothing while the practice bench lies over it.
#[must_use]
pub fn is_about_the_bag(action: Action) -> bool {
    let group = row(action).map_or("", |row| row.group);
    let own = [Action::EditBag, Action::FinishBag, Action::BagUp, Action::BagDown, Action::Versions];
    matches!(group, "Pull" | "Ledger and strips") || own.contains(&action)
}

/// What the keyboard asks for in this frame. `dialog` says whether a dialog is open; `entry` whether a pull is being
/// entered, where plain letters belong to the marks.
#[must_use]
pub fn pressed(ctx: &Context, dialog: bool, entry: bool) -> Vec<Action> {
    let focused = ctx.memory(|memory| memory.focused());
    let typing = ctx.text_edit_focused();
    let mut actions = Vec::new();
    let again = KeyboardShortcut::new(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    if !dialog && !typing && ctx.input_mut(|input| input.consume_shortcut(&again)) {
        actions.push(Action::Redo);
    }
    for row in TABLE {
        let letter = row.shortcut.modifiers.is_none();
        let counts = match row.when {
            // A field being typed in puts its own old text back first; an open list closes first.
            When::Always => row.action != Action::Cancel || !(typing || Popup::is_any_open(ctx)),
            When::Page => !(dialog || typing || (entry && letter)),
            When::Free => !dialog && focused.is_none(),
        };
        if counts && ctx.input_mut(|input| input.consume_shortcut(&row.shortcut)) {
            actions.push(row.action);
        }
    }
    // The sign itself, wherever it lies on the keyboard.
    if !dialog && !typing && !entry {
        let slash = ctx.input(|input| {
            input.events.iter().any(|e| matches!(e, eframe::egui::Event::Text(t) if t == "?"))
        });
        if slash && !actions.contains(&Action::Keys) {
            actions.retain(|action| *action != Action::Search);
            actions.push(Action::Keys);
        }
    }
    // A key that did something is not also typed into the field that it may have opened.
    if actions.iter().any(|action| row(*action).is_some_and(|row| row.shortcut.modifiers.is_none())) {
        ctx.input_mut(|input| input.events.retain(|event| !matches!(event, eframe::egui::Event::Text(_))));
    }
    actions
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_means_two_things_and_every_action_is_named() {
        for (at, row) in TABLE.iter().enumerate() {
            assert!(!row.name.is_empty() && !row.key.is_empty(), "{:?}", row.action);
            for other in TABLE.iter().skip(at + 1) {
                assert!(row.shortcut != other.shortcut, "{} and {}", row.name, other.name);
                assert!(row.action != other.action, "{} is listed twice", row.name);
                assert!(row.name != other.name);
            }
        }
    }
}
