//! The shelf: bags in groups, the ones to be dialled in first.

use jiff::civil::Date;

use crate::domain::{Bag, BagId, BagState, Notebook};

/// One bag on the shelf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShelfItem {
    /// Which bag.
    pub id: BagId,
    /// Its name.
    pub name: String,
    /// Age or number of pulls, and the station, in a few words.
    pub detail: String,
}

/// One group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShelfGroup {
    /// The state of its bags.
    pub state: BagState,
    /// Its heading.
    pub title: &'static str,
    /// Whether it starts folded.
    pub folded: bool,
    /// Its bags, the newest first.
    pub items: Vec<ShelfItem>,
}

/// The shelf, in the order shown; empty groups are left out. `search` keeps the bags whose name, roaster or station
/// holds it.
#[must_use]
pub fn shelf(notebook: &Notebook, today: Date, search: &str) -> Vec<ShelfGroup> {
    let needle = search.trim().to_lowercase();
    let groups = [
        (word!("view-shelf-dialling-in"), BagState::DiallingIn, false),
        (word!("view-shelf-holding"), BagState::Holding, false),
        (word!("view-shelf-resting"), BagState::Resting, false),
        (word!("view-shelf-finished"), BagState::Finished, needle.is_empty()),
    ];
    groups
        .into_iter()
        .filter_map(|(title, state, folded)| {
            let mut bags: Vec<&Bag> =
                notebook.bags.iter().filter(|bag| bag.stamp.is_live() && bag.state() == state).collect();
            bags.sort_by_key(|bag| std::cmp::Reverse((last_touched(bag), bag.id)));
            let items: Vec<ShelfItem> = bags
                .into_iter()
                .map(|bag| item(notebook, bag, today))
                .filter(|item| needle.is_empty() || matches(notebook, item, &needle))
                .collect();
            (!items.is_empty()).then_some(ShelfGroup { state, title, folded, items })
        })
        .collect()
}

/// The open bags in a row of buttons for the bar, in the order in which they came: a pull changes nobody's place, so that a
/// hand finds them without looking.
#[must_use]
pub fn tabs(notebook: &Notebook, today: Date) -> Vec<ShelfItem> {
    let open = |bag: &&Bag| matches!(bag.state(), BagState::DiallingIn | BagState::Holding);
    let mut bags: Vec<&Bag> = notebook.bags.iter().filter(|bag| bag.stamp.is_live()).filter(open).collect();
    bags.sort_by_key(|bag| (bag.stamp.made, bag.id));
    bags.into_iter().map(|bag| item(notebook, bag, today)).collect()
}

/// The bag to show first: the last touched one that is not finished, else any.
#[must_use]
pub fn first_bag(notebook: &Notebook) -> Option<BagId> {
    let live = || notebook.bags.iter().filter(|bag| bag.stamp.is_live());
    live()
        .filter(|bag| bag.state() == BagState::DiallingIn)
        .max_by_key(|bag| (last_touched(bag), bag.id))
        .or_else(|| live().filter(|bag| !bag.finished).max_by_key(|bag| (last_touched(bag), bag.id)))
        .or_else(|| live().next_back())
        .map(|bag| bag.id)
}

fn last_touched(bag: &Bag) -> jiff::Timestamp {
    bag.live_pulls().next_back().map_or(bag.stamp.made, |pull| pull.pulled_at)
}

fn item(notebook: &Notebook, bag: &Bag, today: Date) -> ShelfItem {
    let station = notebook.station(bag.station).map_or("", |station| station.name.as_str());
    // What changes from day to day stands first: a long name of a station is cut at its end.
    let mut parts = Vec::new();
    match bag.state() {
        BagState::Finished => parts.push(say!("view-shelf-count-pulls", n = bag.live_pulls().count())),
        BagState::Resting | BagState::DiallingIn | BagState::Holding => {
            if let Some(days) = bag.days_since_roast(today) {
                parts.push(say!("view-shelf-day", days = days));
            }
        }
    }
    parts.push(station.to_owned());
    parts.retain(|part| !part.is_empty());
    ShelfItem { id: bag.id, name: bag.name.clone(), detail: parts.join(" · ") }
}

fn matches(notebook: &Notebook, item: &ShelfItem, needle: &str) -> bool {
    let roaster = notebook.bag(item.id).map(|bag| bag.roaster.to_lowercase()).unwrap_or_default();
    item.name.to_lowercase().contains(needle)
        || item.detail.to_lowercase().contains(needle)
        || roaster.contains(needle)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::samples;

    #[test]
    fn groups_follow_the_state_of_the_bag() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, bag) = samples::notebook_with_pulls(2, now);
        let today = jiff::civil::date(2026, 11, 25);
        let groups = shelf(&notebook, today, "");
        assert_eq!(groups.len(), 1);
        assert_eq!((groups[0].title, groups[0].items[0].name.as_str()), ("Dialling in", "Quarry Road"));
        assert_eq!(groups[0].items[0].detail, "Kitchen");
        notebook.bags[0].roasted_on = Some(jiff::civil::date(2026, 11, 14));
        assert_eq!(shelf(&notebook, today, "")[0].items[0].detail, "day 11 · Kitchen");
        assert!(shelf(&notebook, today, "harbour").is_empty());
        assert_eq!(shelf(&notebook, today, "quarry").len(), 1);
        assert_eq!(first_bag(&notebook), Some(bag));
        notebook.bags[0].finished = true;
        assert_eq!(shelf(&notebook, today, "")[0].title, "Finished");
        assert_eq!(first_bag(&notebook), Some(bag));
    }

    #[test]
    fn a_pull_changes_the_order_of_the_shelf_but_not_of_the_tabs() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let later = |hours: i64| now + jiff::Span::new().hours(hours);
        let (mut notebook, first) = samples::notebook_with_pulls(2, now);
        let mut second = notebook.bags[0].clone();
        second.id = crate::domain::BagId::fresh(later(1));
        second.stamp.made = later(1);
        second.pulls.truncate(1);
        second.pulls[0].pulled_at = later(2);
        let second_id = second.id;
        notebook.bags.insert(0, second);
        let today = jiff::civil::date(2026, 11, 25);
        let ids = |items: &[ShelfItem]| items.iter().map(|item| item.id).collect::<Vec<_>>();
        let on_shelf = |notebook: &Notebook| ids(&shelf(notebook, today, "")[0].items);
        assert_eq!(on_shelf(&notebook), [second_id, first]);
        assert_eq!(ids(&tabs(&notebook, today)), [first, second_id]);
        notebook.bags[1].pulls.last_mut().unwrap().pulled_at = later(3);
        assert_eq!(on_shelf(&notebook), [first, second_id]);
        assert_eq!(ids(&tabs(&notebook, today)), [first, second_id]);
        notebook.bags[1].finished = true;
        assert_eq!(ids(&tabs(&notebook, today)), [second_id]);
    }
}
