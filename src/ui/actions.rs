//! Everything that a key, a button or the palette can ask for. One table supplies names, keys and help.

use eframe::egui::{Context, Key, KeyboardShortcut, Modifiers, Popup};

use super::widgets::number_untouched;
use crate::units::in_a_row;
use crate::words::{Name, kept};

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
    /// Brings back what was put away last.
    BringBack,
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
    /// Not while anything has the keyboard's focus, not while a pull is entered, and not while a dialog is open.
    Free,
    /// Always.
    Always,
}

/// Where a key stands on the key sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// The pull at hand.
    Pull,
    /// Ledger and strips.
    Ledger,
    /// Shelf of bags.
    Shelf,
    /// The notebook as a whole.
    Notebook,
    /// Everywhere.
    Everywhere,
}

impl Group {
    /// Its heading.
    #[must_use]
    pub const fn name(self) -> Name {
        match self {
            Self::Pull => name!("actions-group-pull"),
            Self::Ledger => name!("actions-group-ledger"),
            Self::Shelf => name!("actions-group-shelf"),
            Self::Notebook => name!("actions-group-notebook"),
            Self::Everywhere => name!("actions-group-everywhere"),
        }
    }
}

/// A key as it stands on the keyboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cap {
    /// A sign that is the same in every language.
    Sign(&'static str),
    /// A key with a name.
    Named(Name),
    /// A key held together with Ctrl.
    Ctrl(&'static Cap),
    /// One key or another.
    Each(&'static [Cap]),
}

impl Cap {
    /// The space bar.
    pub const SPACE: Self = Self::Named(name!("key-space"));
    /// Enter.
    pub const ENTER: Self = Self::Named(name!("key-enter"));
    /// Delete.
    pub const DELETE: Self = Self::Named(name!("key-delete"));
    /// Escape.
    pub const ESCAPE: Self = Self::Named(name!("key-escape"));
    /// The tabulator.
    pub const TAB: Self = Self::Named(name!("key-tab"));
    /// Ctrl with Enter.
    pub const CTRL_ENTER: Self = Self::Ctrl(&Self::ENTER);

    /// What stands on it.
    #[must_use]
    pub fn text(self) -> &'static str {
        match self {
            Self::Sign(sign) => sign,
            Self::Named(name) => name.word(),
            Self::Ctrl(other) => kept(say!("key-with-ctrl", key = other.text())),
            Self::Each(caps) => kept(in_a_row(&caps.iter().map(|cap| cap.text()).collect::<Vec<_>>())),
        }
    }
}

/// A row of the table.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// What it does.
    pub action: Action,
    /// Its name on buttons and in the palette.
    pub name: Name,
    /// Its key as shown.
    pub key: Cap,
    /// Its key.
    pub shortcut: KeyboardShortcut,
    /// When the key counts.
    pub when: When,
    /// Group on the key sheet.
    pub group: Group,
}

impl Row {
    /// Whether its key neither types anything nor changes what was typed.
    fn is_no_text(&self) -> bool {
        let own = matches!(self.action, Action::Undo | Action::Redo);
        let function = [Key::F2, Key::F4, Key::F11].contains(&self.shortcut.logical_key);
        function || (!self.shortcut.modifiers.is_none() && !own)
    }
}

const fn plain(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::NONE, key)
}

const fn ctrl(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND, key)
}

macro_rules! row {
    ($action:ident, $name:expr, $key:expr, $shortcut:expr, $when:ident, $group:ident) => {
        Row {
            action: Action::$action,
            name: $name,
            key: $key,
            shortcut: $shortcut,
            when: When::$when,
            group: Group::$group,
        }
    };
}

/// The table.
pub const TABLE: &[Row] = &[
    row!(Clock, name!("actions-clock"), Cap::SPACE, plain(Key::Space), Free, Pull),
    row!(CupAway, name!("actions-cup-away"), Cap::Sign("C"), plain(Key::C), Page, Pull),
    row!(EnterByHand, name!("actions-enter-by-hand"), Cap::Sign("E"), plain(Key::E), Page, Pull),
    row!(AnotherIdea, name!("actions-another-idea"), Cap::Sign("A"), plain(Key::A), Page, Pull),
    row!(Keep, name!("actions-keep"), Cap::Sign("K"), plain(Key::K), Page, Pull),
    row!(Why, name!("actions-why"), Cap::Sign("W"), plain(Key::W), Page, Pull),
    row!(Beliefs, name!("actions-beliefs"), Cap::Sign("V"), plain(Key::V), Page, Pull),
    row!(WhatIf, name!("actions-what-if"), Cap::Sign("Y"), plain(Key::Y), Page, Pull),
    row!(BarCard, name!("actions-bar-card"), Cap::Sign("J"), plain(Key::J), Page, Pull),
    row!(Reveal, name!("actions-reveal"), Cap::Sign("R"), plain(Key::R), Page, Pull),
    row!(RowUp, name!("actions-row-up"), Cap::Sign("↑"), plain(Key::ArrowUp), Free, Ledger),
    row!(RowDown, name!("actions-row-down"), Cap::Sign("↓"), plain(Key::ArrowDown), Free, Ledger),
    row!(EditPull, name!("actions-edit-pull"), Cap::ENTER, plain(Key::Enter), Free, Ledger),
    row!(RemovePull, name!("actions-remove-pull"), Cap::DELETE, plain(Key::Delete), Free, Ledger),
    row!(Overlay, name!("actions-overlay"), Cap::Sign("O"), plain(Key::O), Page, Ledger),
    row!(OverlayAll, name!("actions-overlay-all"), Cap::Sign("G"), plain(Key::G), Page, Ledger),
    row!(Align, name!("actions-align"), Cap::Sign("L"), plain(Key::L), Page, Ledger),
    row!(Expected, name!("actions-expected"), Cap::Sign("X"), plain(Key::X), Page, Ledger),
    row!(Import, name!("actions-import"), Cap::Sign("T"), plain(Key::T), Page, Ledger),
    row!(Compare, name!("actions-compare"), Cap::Sign("M"), plain(Key::M), Page, Ledger),
    row!(Live, name!("actions-live"), Cap::Sign("I"), plain(Key::I), Page, Ledger),
    row!(NewBag, name!("actions-new-bag"), Cap::Sign("B"), plain(Key::B), Page, Shelf),
    row!(EditBag, name!("actions-edit-bag"), Cap::Sign("F2"), plain(Key::F2), Page, Shelf),
    row!(FinishBag, name!("actions-finish-bag"), Cap::Sign("F"), plain(Key::F), Page, Shelf),
    row!(BagUp, name!("actions-bag-up"), Cap::Sign("["), plain(Key::OpenBracket), Page, Shelf),
    row!(BagDown, name!("actions-bag-down"), Cap::Sign("]"), plain(Key::CloseBracket), Page, Shelf),
    row!(Opening, name!("actions-opening"), Cap::Sign("F4"), plain(Key::F4), Page, Shelf),
    row!(Search, name!("actions-search"), Cap::Sign("/"), plain(Key::Slash), Page, Shelf),
    row!(Stations, name!("actions-stations"), Cap::Sign("S"), plain(Key::S), Page, Shelf),
    row!(Drinkers, name!("actions-drinkers"), Cap::Sign("D"), plain(Key::D), Page, Shelf),
    row!(Notebook, name!("actions-notebook"), Cap::Sign("N"), plain(Key::N), Page, Notebook),
    row!(Versions, name!("actions-versions"), Cap::Sign("H"), plain(Key::H), Page, Notebook),
    row!(PassOn, name!("actions-pass-on"), Cap::Ctrl(&Cap::Sign("P")), ctrl(Key::P), Page, Notebook),
    row!(TakeIn, name!("actions-take-in"), Cap::Ctrl(&Cap::Sign("O")), ctrl(Key::O), Page, Notebook),
    row!(Undo, name!("actions-undo"), Cap::Ctrl(&Cap::Sign("Z")), ctrl(Key::Z), Page, Everywhere),
    row!(Redo, name!("actions-redo"), Cap::Ctrl(&Cap::Sign("Y")), ctrl(Key::Y), Page, Everywhere),
    row!(
        BringBack,
        name!("actions-bring-back"),
        Cap::Ctrl(&Cap::Sign("R")),
        ctrl(Key::R),
        Always,
        Everywhere
    ),
    row!(Palette, name!("actions-palette"), Cap::Ctrl(&Cap::Sign("K")), ctrl(Key::K), Always, Everywhere),
    row!(Keys, name!("actions-keys"), Cap::Sign("?"), plain(Key::Questionmark), Page, Everywhere),
    row!(Settings, name!("actions-settings"), Cap::Ctrl(&Cap::Sign(",")), ctrl(Key::Comma), Page, Everywhere),
    row!(Problems, name!("actions-problems"), Cap::Sign("P"), plain(Key::P), Page, Everywhere),
    row!(Practice, name!("actions-practice"), Cap::Ctrl(&Cap::Sign("B")), ctrl(Key::B), Page, Everywhere),
    row!(Home, name!("actions-home"), Cap::Ctrl(&Cap::Sign("1")), ctrl(Key::Num1), Page, Everywhere),
    row!(Bar, name!("actions-bar"), Cap::Ctrl(&Cap::Sign("2")), ctrl(Key::Num2), Page, Everywhere),
    row!(Class, name!("actions-class"), Cap::Ctrl(&Cap::Sign("3")), ctrl(Key::Num3), Page, Everywhere),
    row!(Dark, name!("actions-dark"), Cap::Ctrl(&Cap::Sign("D")), ctrl(Key::D), Page, Everywhere),
    row!(Fullscreen, name!("actions-fullscreen"), Cap::Sign("F11"), plain(Key::F11), Always, Everywhere),
    row!(Cancel, name!("actions-cancel"), Cap::ESCAPE, plain(Key::Escape), Always, Everywhere),
    row!(Quit, name!("actions-quit"), Cap::Ctrl(&Cap::Sign("Q")), ctrl(Key::Q), Always, Everywhere),
];

/// The table's row for an action.
#[must_use]
pub fn row(action: Action) -> Option<&'static Row> {
    TABLE.iter().find(|row| row.action == action)
}

/// The key of an action as shown.
#[must_use]
pub fn key(action: Action) -> &'static str {
    row(action).map_or("", |row| row.key.text())
}

/// Whether an action is about the bag's page, so that it means nothing while the practice bench lies over it.
#[must_use]
pub fn is_about_the_bag(action: Action) -> bool {
    let group = row(action).map(|row| row.group);
    let own = [Action::EditBag, Action::FinishBag, Action::BagUp, Action::BagDown, Action::Versions];
    matches!(group, Some(Group::Pull | Group::Ledger)) || own.contains(&action)
}

/// What the keyboard asks for in this frame. `dialog` says whether a dialog is open; `entry` whether a pull is being
/// entered, where plain letters belong to the marks.
#[must_use]
pub fn pressed(ctx: &Context, dialog: bool, entry: bool) -> Vec<Action> {
    let focused = ctx.memory(|memory| memory.focused());
    let untouched = number_untouched(ctx).filter(|_| !entry);
    let typing = ctx.text_edit_focused() && untouched != Some(true);
    let in_number = untouched == Some(false);
    let mut actions = Vec::new();
    let again = KeyboardShortcut::new(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    if !dialog && !typing && ctx.input_mut(|input| input.consume_shortcut(&again)) {
        actions.push(Action::Redo);
    }
    for row in TABLE {
        let letter = row.shortcut.modifiers.is_none();
        let counts = match row.when {
            // A field being typed in puts its own old text back first; an open list closes first.
            When::Always => {
                row.action != Action::Cancel || !(ctx.text_edit_focused() || Popup::is_any_open(ctx))
            }
            When::Page => !(dialog || (typing && !(in_number && row.is_no_text())) || (entry && letter)),
            When::Free => !dialog && !entry && focused.is_none(),
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
            assert!(!row.name.word().is_empty() && !row.key.text().is_empty(), "{:?}", row.action);
            for other in TABLE.iter().skip(at + 1) {
                assert!(row.shortcut != other.shortcut, "{:?} and {:?}", row.name, other.name);
                assert!(row.action != other.action, "{:?} is listed twice", row.name);
                assert!(row.name.word() != other.name.word());
            }
        }
    }
}
