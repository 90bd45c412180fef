//! The view on hand-made notebooks and on the demo.

use std::path::Path;

use jiff::{SignedDuration, Timestamp};

use super::*;
use crate::domain::*;
use crate::exchange::picture::{self, Kind};
use crate::maths::draw::Draws;
use crate::workbench::samples;

#[path = "../../../../tests/shared/folders.rs"]
mod folders;

const QUICK: u32 = 1500;

fn now() -> Timestamp {
    "2026-11-25T09:00:00Z".parse().unwrap()
}

fn wish() -> Wish {
    Wish { effort: QUICK, ..Wish::default() }
}

fn seen(notebook: &Notebook, wish: &Wish) -> Opening {
    let units = UnitPreferences::default();
    let place = Place { now: now(), zone: &TimeZone::UTC, units: &units };
    look(notebook, place, wish, &mut Costly::default())
}

/// The keeper's recipe.
const KEPT: Recipe = Recipe { grind: 14.0, dose_g: 18.0, yield_g: 36.0, temperature_c: Some(93.0) };

/// A pull of it.
fn pulled(station: StationId, at: Timestamp, who: &str, time_s: f64) -> Pull {
    Pull {
        id: PullId(Id::from_parts(at, [7; 10])),
        stamp: Stamp::new(at),
        pulled_at: at,
        station,
        pulled_by: who.to_owned(),
        plan: None,
        used: KEPT,
        time_s: Some(time_s),
        first_drip_s: None,
        tds_pct: None,
        taste: Taste::default(),
        flags: Flags::default(),
        note: String::new(),
        has_trace: false,
    }
}

/// An invented bar: one coffee kept at 27 s, `days` days of two pulls each about it, then the pulls of today.
fn bar(days: i64, today_s: &[f64]) -> Notebook {
    let begun = now() - SignedDuration::from_hours(24 * (days + 1));
    let (mut notebook, _) = samples::notebook_with_pulls(0, begun);
    let station = notebook.stations[0].id;
    let bag = &mut notebook.bags[0];
    bag.opened_on = Some(jiff::civil::date(2026, 11, 1));
    bag.price = Some(Price { amount: 10.0, currency: "EUR".to_owned() });
    let mut draws = Draws::new(8);
    let mut add = |at: Timestamp, time_s: f64, who: &str| {
        bag.pulls.push(pulled(station, at, who, time_s));
    };
    for day in 0..days {
        for n in 0..2 {
            let at =
                now() - SignedDuration::from_hours(24 * (days - day) + 2) + SignedDuration::from_mins(5 * n);
            add(at, 27.0 * (0.02 * draws.normal()).exp(), if n == 0 { "JO" } else { "KV" });
        }
    }
    for (n, time_s) in (0i64..).zip(today_s) {
        add(now() - SignedDuration::from_mins(30 - 5 * n), *time_s, "JO");
    }
    bag.keeper = Some(Keeper {
        recipe: KEPT,
        time_s: Some(27.0),
        tolerance: Tolerance { time_s: Some(2.5), ..Tolerance::default() },
        kept_at: begun,
        from_pull: None,
    });
    notebook
}

#[test]
fn before_the_first_pull_the_day_has_a_start_and_a_list() {
    let view = seen(&bar(20, &[]), &wish());
    let row = &view.coffees[0];
    assert_eq!(row.state, State::ToOpen);
    assert!(row.start.starts_with("Start "), "{}", row.start);
    assert_eq!(row.window, "aim 27 s, serve 24.5–29.5 s");
    let pulls: Vec<&str> =
        view.list.iter().map(|s| s.words.as_str()).filter(|words| words.contains(" in, ")).collect();
    assert!(pulls.len() == 2 && pulls.iter().all(|words| words.contains(&row.window)), "{pulls:?}");
    assert!(row.window_why.contains("2.5 s off, by the model"), "{}", row.window_why);
    assert!(view.list.iter().any(|s| s.words.contains("Quarry Road")), "{:?}", view.list);
    assert_eq!(view.headline, "0 of 1 coffee ready to serve");
}

#[test]
fn ordinary_pulls_serve_and_a_jump_moves_the_grinder() {
    let calm = seen(&bar(20, &[27.1, 26.8]), &wish());
    let row = &calm.coffees[0];
    assert_eq!((row.state, row.verdict.as_str()), (State::Serve, "Serve"), "{row:?}");
    assert!(row.figure.ends_with("that nothing moved noticeably"), "{}", row.figure);
    assert_eq!(row.judged.len(), 2);
    assert_eq!(calm.headline, "1 coffee ready to serve");

    // Two pulls 20 % fast: finer, in the grinder's own clicks, with the setting to go to and the purge.
    let fast = seen(&bar(20, &[21.8, 21.5]), &wish());
    let row = &fast.coffees[0];
    assert_eq!(row.state, State::Move, "{row:?}");
    assert!(row.verdict.starts_with("Move ") && row.verdict.ends_with("finer"), "{}", row.verdict);
    assert!(row.how.starts_with("14.0 → 1") && row.how.ends_with("then purge 1 g"), "{}", row.how);
    assert!(row.figure.contains("real"), "{}", row.figure);
    assert!(row.plan.grind < 14.0 && row.off_pct < -10.0);
    assert!(row.why[0].starts_with("Flow time went down"), "{:?}", row.why);
    // Slow pulls go the other way.
    let slow = seen(&bar(20, &[33.5, 34.0]), &wish());
    assert!(slow.coffees[0].verdict.ends_with("coarser"), "{:?}", slow.coffees[0]);
}

#[test]
fn one_odd_pull_is_pulled_again() {
    let view = seen(&bar(20, &[23.6]), &wish());
    assert_eq!(view.coffees[0].verdict, "Pull once more", "{:?}", view.coffees[0]);
}

#[test]
fn a_move_that_was_made_is_followed() {
    let mut notebook = bar(20, &[21.8, 21.5, 26.9, 27.2]);
    let n = notebook.bags[0].pulls.len();
    for pull in &mut notebook.bags[0].pulls[n - 2..] {
        pull.used.grind = 13.0;
    }
    let view = seen(&notebook, &wish());
    let row = &view.coffees[0];
    assert_eq!(row.state, State::Serve, "{row:?}");
    assert_eq!(row.setting, "13.0");
    let chart = &row.charts[0];
    assert_eq!(chart.phases.last().unwrap(), &(n - 2, "2 clicks finer".to_owned()));
    // A grinder move costs its purge: 1 g for a grinder that keeps half a gram.
    assert_eq!(view.sunk[0].today.unwrap().lost_g, 1.0);
}

#[test]
fn charts_show_what_was_measured_and_where_rules_fired() {
    let view = seen(&bar(20, &[27.0, 20.0]), &wish());
    let chart = &view.coffees[0].charts[0];
    assert_eq!((chart.name, chart.points.len()), ("Time", 42));
    let last = chart.points.last().unwrap();
    assert_eq!(last.measured, 20.0);
    assert!(last.value < last.limits.0, "{last:?}");
    assert!(chart.signals.iter().any(|(i, words)| *i == 41 && words == "one value far outside"), "{chart:?}");
    let (at, words) = chart.marked().pop().unwrap();
    assert!(at == 41 && words.contains(&"one value far outside"), "{words:?}");
    assert!(words.contains(&"single pull outside its limits"), "{words:?}");
    // Whatever lies outside a limit is named, and nothing else.
    for (i, point) in chart.points.iter().enumerate() {
        let sums = point.cusum.upper.max(point.cusum.lower) > chart.cusum_limit;
        let outside = !(point.limits.0..=point.limits.1).contains(&point.value)
            || point.range.is_some_and(|range| range > chart.range_limit)
            || !(point.ewma.lower..=point.ewma.upper).contains(&point.ewma.z)
            || sums;
        let fired = chart.signals.iter().any(|(at, _)| *at == i);
        assert_eq!(chart.marked().iter().any(|(at, _)| *at == i), outside || fired, "{point:?}");
    }
    assert!(chart.window == Some((24.5, 29.5)) && !chart.provisional);
    // The limits lie where the café's run length puts them for a normal value (NIST/SEMATECH e-Handbook, 6.3.2.2).
    let width = crate::control::runlength::individuals_width(chart.run_length);
    let wide = |at: &ChartPoint| (at.limits.1 / at.centre).ln() / chart.sigma;
    let cool = wide(&chart.points[40]);
    assert!((cool - width).abs() < 1e-9, "the first pull of a day: {cool} {width}");
    // The second is warmed by 18 g, a few minutes old, of which nothing is known but 1.5 % for 100 g.
    assert!(wide(last) > width && wide(last) < 1.02 * width, "{} {width}", wide(last));
    assert!(view.coffees[0].charts.iter().any(|c| c.name == "Yield"));
    assert!(chart.summary().contains("42 points"));
}

#[test]
fn what_cannot_be_held_says_what_to_do() {
    let mut notebook = bar(3, &[]);
    notebook.bags[0].keeper = None;
    let view = seen(&notebook, &wish());
    assert!(view.is_empty() && view.list.is_empty());
    assert!(view.unkept[0].words.contains("press K"), "{:?}", view.unkept);
    assert!(text(&view).contains("Nothing to hold yet") && text(&view).contains("press K"));
    let mut notebook = bar(3, &[]);
    notebook.bags[0].keeper.as_mut().unwrap().time_s = None;
    assert!(seen(&notebook, &wish()).unkept[0].words.contains("keep a pull that was timed"));
    // Finished and resting bags are not on the bar.
    let mut notebook = bar(3, &[]);
    notebook.bags[0].finished = true;
    let view = seen(&notebook, &wish());
    assert!(view.coffees.is_empty() && view.unkept.is_empty());
    let _nothing = seen(&Notebook::default(), &wish());
}

#[test]
fn a_warmer_room_is_said_and_learnt_from() {
    let mut notebook = bar(20, &[]);
    let before = now() - SignedDuration::from_hours(24);
    for pull in
        notebook.bags[0].pulls.iter_mut().filter(|p| p.pulled_at > before - SignedDuration::from_hours(3))
    {
        pull.note = "room 18 °C 40 %".to_owned();
    }
    let room = notes::Room { temperature_c: Some(24.0), humidity_pct: Some(40.0) };
    let view = seen(&notebook, &Wish { room, ..wish() });
    assert!(view.coffees[0].start.contains("it is 6 °C warmer than yesterday"), "{}", view.coffees[0].start);
    assert_eq!(view.room, "Room 24.0 °C, 40 % humidity; 6 °C warmer than last time");
    assert!(!view.room_noted);
    // Twenty nights in turn 6 °C warmer and colder, each kelvin making the pulls 2 % faster: it is learnt.
    let mut notebook = bar(20, &[]);
    for pull in &mut notebook.bags[0].pulls {
        let warm = now().duration_since(pull.pulled_at).as_hours() / 24 % 2 == 0;
        pull.note = format!("room {} °C", if warm { 26 } else { 20 });
        pull.time_s = pull.time_s.map(|t| if warm { t * 0.887 } else { t });
    }
    let quiet = seen(&notebook, &wish()).coffees[0].clone();
    let last_was_warm = notebook.bags[0].pulls.last().unwrap().note.contains("26");
    let (same, other) = if last_was_warm { (26.0, 20.0) } else { (20.0, 26.0) };
    let at = |t| {
        seen(&notebook, &Wish { room: notes::Room { temperature_c: Some(t), humidity_pct: None }, ..wish() })
    };
    let (same, other) = (at(same).coffees[0].off_pct, at(other).coffees[0].off_pct);
    assert!((same - quiet.off_pct).abs() < 1e-9);
    let way = if last_was_warm { 1.0 } else { -1.0 };
    assert!((other - same) * way > 5.0, "{same} {other}");
}

#[test]
fn old_beans_in_the_hopper_make_the_verdict_wait() {
    let mut notebook = bar(12, &[27.0]);
    let mut second = notebook.bags[0].clone();
    let made = now() - SignedDuration::from_mins(20);
    second.id = BagId(Id::from_parts(made, [3; 10]));
    second.stamp = Stamp::new(made);
    second.name += ", batch 2";
    second.keeper.as_mut().unwrap().kept_at = made;
    let one = second.pulls.last().unwrap().clone();
    second.pulls = [(19, "27.0"), (12, "29.9"), (5, "30.1")]
        .map(|(mins, time)| {
            let at = now() - SignedDuration::from_mins(mins);
            let note = if mins == 19 { "old beans 30 g".to_owned() } else { String::new() };
            let time_s = time.parse().ok();
            Pull { id: PullId(Id::from_parts(at, [4; 10])), pulled_at: at, time_s, note, ..one.clone() }
        })
        .to_vec();
    notebook.bags[0].finished = true;
    notebook.bags.push(second.clone());
    // After the second pull 27 of 30 old grams are through or stirred: mixed.
    let mut mixed = notebook.clone();
    mixed.bags[1].pulls.truncate(2);
    let row = &seen(&mixed, &wish()).coffees[0];
    assert_eq!(row.state, State::Wait, "{row:?}");
    assert!(row.mixing.contains("new beans in the grounds") && row.how.contains("leave the grinder"));
    // Nobody said how much was left: asked, and judged as usual.
    mixed.bags[1].pulls[0].note.clear();
    let row = &seen(&mixed, &wish()).coffees[0];
    assert!(row.asks_old_beans && row.state != State::Wait, "{row:?}");
    // Without a keeper of its own it can be held to the one before.
    mixed.bags[1].keeper = None;
    let view = seen(&mixed, &wish());
    let (keeper, from) = view.unkept[0].inherit.clone().unwrap();
    assert_eq!((keeper.time_s, from.as_str()), (Some(27.0), "Quarry Road"));
}

#[test]
fn thresholds_are_stood_in_for_until_they_are_worked_out() {
    let notebook = bar(20, &[27.0]);
    let units = UnitPreferences::default();
    let place = Place { now: now(), zone: &TimeZone::UTC, units: &units };
    let mut costly = Costly::default();
    let quick = look(&notebook, place, &Wish { fresh: 0, ..wish() }, &mut costly);
    assert_eq!((quick.unfinished, costly.worked_out), (1, 0));
    assert!(quick.coffees[0].readiness.contains("still being worked out"));
    let full = look(&notebook, place, &Wish { fresh: 1, ..wish() }, &mut costly);
    assert_eq!((full.unfinished, costly.worked_out), (0, 1));
    let again = look(&notebook, place, &Wish { fresh: 0, ..wish() }, &mut costly);
    assert_eq!(again, full);
}

#[test]
fn a_choked_pull_is_not_judged() {
    let mut notebook = bar(10, &[27.0, 50.0]);
    notebook.bags[0].pulls.last_mut().unwrap().flags.choked = true;
    let row = &seen(&notebook, &wish()).coffees[0];
    assert_eq!(row.state, State::NotJudged);
    assert!(row.verdict.contains("Choked"));
}

#[test]
fn names_can_be_hidden_everywhere() {
    let shown = text(&seen(&bar(20, &[27.0]), &wish()));
    assert!(shown.contains("JO"), "{shown}");
    let hidden = text(&seen(&bar(20, &[27.0]), &Wish { hide_names: true, ..wish() }));
    assert!(
        !hidden.contains("JO") && !hidden.contains("KV") && hidden.contains("pulled today: A 1"),
        "{hidden}"
    );
}

#[test]
fn thresholds_are_worked_out_once_a_day() {
    let units = UnitPreferences::default();
    let place = Place { now: now(), zone: &TimeZone::UTC, units: &units };
    let mut costly = Costly::default();
    for today in [&[][..], &[27.0], &[27.0, 26.0], &[27.0, 26.0, 20.0]] {
        let _view = look(&bar(20, today), place, &wish(), &mut costly);
    }
    assert_eq!(costly.worked_out, 1, "pulls of today change nothing that is costly");
    let _view = look(&bar(20, &[]), place, &Wish { false_a_month: 3.0, ..wish() }, &mut costly);
    assert_eq!(costly.worked_out, 2);
}

#[test]
fn wild_records_break_nothing() {
    let mut notebook = bar(6, &[27.0, 26.0]);
    for (n, pull) in notebook.bags[0].pulls.iter_mut().enumerate() {
        match n % 5 {
            0 => pull.used.dose_g = 0.0,
            1 => pull.time_s = Some(0.0),
            2 => pull.used.yield_g = f64::NAN,
            3 => pull.time_s = Some(f64::INFINITY),
            _ => pull.used.grind = -4.0,
        }
    }
    let view = seen(&notebook, &wish());
    let _page = picture::write(&hand_over_page(&view), Kind::Svg).unwrap();
}

#[test]
fn the_demo_has_a_bar() {
    let folder = tempfile::tempdir().unwrap();
    folders::copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/notebook"), folder.path());
    let opened = crate::store::Folder::open(folder.path(), now(), &crate::store::Holder::here()).unwrap();
    let view = seen(&opened.notebook, &wish());
    let names: Vec<&str> = view.coffees.iter().map(|c| c.name.as_str()).collect();
    assert_eq!(names, ["Longshore blend, batch 32", "Evenlight, caffeine taken out", "Kirundaro Ridge"]);
    let blend = &view.coffees[0];
    assert_eq!(blend.state, State::ToOpen);
    assert_eq!(blend.charts[0].window, Some((25.0, 31.0)));
    let said = |words: &str| words.contains("Longshore") && words.contains("serve 25–31 s");
    assert_eq!(view.list.iter().filter(|step| said(&step.words)).count(), 2, "{:?}", view.list);
    assert!(blend.charts[0].points.len() > 25 && blend.charts[0].phases.len() >= 4, "{blend:?}");
    assert!(view.unkept.iter().any(|u| u.name == "Three Gates natural"));
    let sunk = view.sunk.iter().find(|s| s.coffee.starts_with("Longshore")).unwrap();
    assert!(sunk.forecast.is_some(), "{sunk:?}");
    // One page, whole, as a PDF.
    let page = hand_over_page(&view);
    assert!(page.shapes.iter().all(|s| match s {
        picture::Shape::Text { at, .. } => at[1] <= page.height && at[0] <= page.width,
        _ => true,
    }));
    let bytes = picture::write(&page, Kind::Pdf).unwrap();
    assert!(bytes.starts_with(b"%PDF"));
    let mut csv = Vec::new();
    write_table(&[("demo", &view)], &mut csv).unwrap();
    let csv = String::from_utf8(csv).unwrap();
    assert!(
        csv.lines().next().unwrap().starts_with("bar,station,coffee,quantity") && csv.lines().count() > 60
    );
    // On the morning of the 17th one pull ran 20.0 s and was followed by an ordinary one.
    let units = UnitPreferences::default();
    let then: Timestamp = "2026-11-17T07:05:00Z".parse().unwrap();
    let place = Place { now: then, zone: &TimeZone::UTC, units: &units };
    let at = look(&opened.notebook, place, &wish(), &mut Costly::default());
    let blend = at.coffees.iter().find(|c| c.name.starts_with("Longshore")).unwrap();
    assert_ne!(blend.state, State::Serve, "{blend:?}");
    let later = Place { now: "2026-11-17T07:10:00Z".parse().unwrap(), ..place };
    let at = look(&opened.notebook, later, &wish(), &mut Costly::default());
    let blend = at.coffees.iter().find(|c| c.name.starts_with("Longshore")).unwrap();
    assert_ne!(blend.state, State::Move, "one odd pull moves nothing: {blend:?}");
}

/// Three coffees on one grinder, each as [`bar`] makes it.
fn three(today_s: [&[f64]; 3]) -> Notebook {
    let mut all = bar(20, today_s[0]);
    for (n, today_s) in (1u8..).zip(&today_s[1..]) {
        let mut bag = bar(20, today_s).bags.remove(0);
        bag.id = BagId(Id::from_parts(bag.stamp.made, [40 + n; 10]));
        bag.name = ["Harbour Steps", "Two Lakes"][usize::from(n) - 1].to_owned();
        bag.station = all.stations[0].id;
        for (at, pull) in (1i64..).zip(&mut bag.pulls) {
            // Minutes later, coffee by coffee.
            pull.pulled_at += SignedDuration::from_secs(i64::from(n) * 600 + at);
            pull.id = PullId(Id::from_parts(pull.pulled_at, [40 + n; 10]));
            pull.station = bag.station;
        }
        all.bags.push(bag);
    }
    all
}

#[test]
fn coffees_of_one_grinder_are_judged_with_what_the_others_say() {
    let row = |view: &Opening, name: &str| view.coffees.iter().find(|c| c.name == name).unwrap().clone();
    // 7 % fast, each: alone that may be noise, three of them are the grinder.
    let fast: &[f64] = &[25.0, 25.3];
    let alone = seen(&bar(20, fast), &wish());
    let among = seen(&three([fast, fast, fast]), &wish());
    for name in ["Quarry Road", "Harbour Steps", "Two Lakes"] {
        let one = row(&among, name);
        assert!(one.judged[1].p_real > alone.coffees[0].judged[1].p_real, "{one:?}");
        let why = one.why.join(" ");
        assert!(why.contains("2 of 2 other coffees on this grinder went the same way"), "{why}");
    }
    // Quiet neighbours: the beans are named.
    let own = seen(&three([&[22.8, 22.9], &[27.0, 26.8], &[27.1, 27.2]]), &wish());
    let one = row(&own, "Quarry Road");
    assert_eq!(one.state, State::Move, "{one:?}");
    assert!(one.why.iter().any(|w| w.contains("these beans rather than the grinder")), "{:?}", one.why);
    assert_eq!(row(&own, "Two Lakes").state, State::Serve);
    // Two fast ones tell the third where to start, before its first pull.
    let before = seen(&three([&[23.0, 23.2], &[23.1, 22.8], &[]]), &wish());
    let third = row(&before, "Two Lakes");
    assert_eq!(third.state, State::ToOpen);
    assert!(third.start.contains("other coffees have been running faster"), "{}", third.start);
    assert!(third.off_pct < -5.0, "{third:?}");
}

/// A bag that was kept on one grinder and now stands on another: its settings say nothing there.
fn moved_to_another_grinder(today_s: &[f64]) -> (Notebook, StationId) {
    let mut notebook = bar(20, today_s);
    let mut guest = notebook.stations[0].clone();
    guest.id = StationId(Id::from_parts(guest.stamp.made, [77; 10]));
    guest.name = "Guest grinder".to_owned();
    guest.gear.grind.scale = Scale::new("grind", 0.0, 10.0, 0.1).unwrap();
    guest.gear.grind.finer = Finer::Higher;
    let id = guest.id;
    notebook.put(Record::Station(Box::new(guest)));
    notebook.bags[0].station = id;
    (notebook, id)
}

#[test]
fn another_grinder_asks_for_a_keeper_of_its_own() {
    let (mut notebook, guest) = moved_to_another_grinder(&[]);
    let asked = |notebook: &Notebook| {
        let view = seen(notebook, &wish());
        assert!(view.coffees.is_empty() && view.list.is_empty(), "{:?}", view.coffees);
        let words = view.unkept[0].words.clone();
        assert!(words.contains("another grinder") && words.contains("press K"), "{words}");
    };
    asked(&notebook);
    // Pulls there do not make the old keeper count.
    let pull_there = |notebook: &mut Notebook, hours: i64, time_s: f64| {
        let at = now() - SignedDuration::from_hours(hours);
        let mut pull = notebook.bags[0].pulls[0].clone();
        pull.id = PullId(Id::from_parts(at, [9; 10]));
        (pull.pulled_at, pull.station, pull.time_s) = (at, guest, Some(time_s));
        pull.used.grind = 4.4;
        notebook.bags[0].pulls.push(pull.clone());
        pull
    };
    for hours in [6, 5] {
        pull_there(&mut notebook, hours, 27.0);
    }
    asked(&notebook);
    // Kept there, it is held there: by that grinder's pulls alone.
    let kept = pull_there(&mut notebook, 4, 27.0);
    let keeper = notebook.bags[0].keeper.as_mut().unwrap();
    (keeper.recipe, keeper.from_pull, keeper.kept_at) = (kept.used, Some(kept.id), kept.pulled_at);
    for hours in [2, 1] {
        pull_there(&mut notebook, hours, 33.5);
    }
    let mut own = notebook.clone();
    own.bags[0].pulls.retain(|pull| pull.station == guest);
    let row = |notebook: &Notebook| seen(notebook, &wish()).coffees[0].clone();
    let (row, alone) = (row(&notebook), row(&own));
    assert_eq!(row, alone, "pulls of the old grinder have no say");
    assert!(row.how.starts_with("4.4 → 4."), "{}", row.how);
    // An earlier keeper than the last move, as where old pulls were kept again by hand.
    let keeper = notebook.bags[0].keeper.as_mut().unwrap();
    (keeper.from_pull, keeper.kept_at) = (None, now() - SignedDuration::from_hours(24 * 18));
    asked(&notebook);
}

/// A bar whose grinder is never cool today: 75 pulls in an hour and a quarter, each hundred grams still felt making them
/// `per_100_g` slower, and as many on each of the `days` before.
fn rush(days: i64, per_100_g: f64) -> Notebook {
    let mut notebook = bar(0, &[]);
    let bag = &mut notebook.bags[0];
    let begun = now() - SignedDuration::from_hours(24 * (days + 1));
    let recipe = bag.keeper.as_ref().unwrap().recipe;
    bag.keeper.as_mut().unwrap().kept_at = begun;
    let mut draws = Draws::new(12);
    for day in 0..=days {
        let mut felt_g = 0.0;
        for n in 0..75 {
            let at =
                now() - SignedDuration::from_hours(24 * (days - day)) - SignedDuration::from_mins(75 - n);
            let time_s = 27.0 * libm::exp(per_100_g * felt_g / 100.0 + 0.02 * draws.normal());
            bag.pulls.push(pulled(bag.station, at, "JO", time_s));
            // Half of the heat is gone in twenty minutes.
            felt_g = (felt_g + recipe.dose_g) * libm::exp2(-1.0 / 20.0);
        }
    }
    notebook
}

#[test]
fn a_steady_rush_is_no_signal() {
    let view = seen(&rush(0, 0.0), &wish());
    let row = &view.coffees[0];
    assert_eq!(row.state, State::Serve, "{row:?}");
    assert!(row.off_pct.abs() < 1.0, "{}", row.off_pct);
    let chart = &row.charts[0];
    // Ranges and run rules may go off by chance; what shows a level may not here, where nothing moved.
    let level = ["single pull", "weighted average", "cumulative sum"];
    let marked: Vec<(usize, Vec<&str>)> = chart.marked();
    let shows = |words: &[&str]| words.iter().any(|w| level.iter().any(|l| w.contains(l)));
    assert!(!marked.iter().any(|(at, words)| *at >= 20 && shows(words)), "{marked:?}");
    assert_eq!(row.warmth, "");
    // What is said of the last pull lies between the limits that are said with it.
    let words = chart.summary();
    let number = |after: &str| -> f64 {
        let rest = words.split(after).nth(1).unwrap();
        rest.split([' ', '–', ',']).next().unwrap().parse().unwrap()
    };
    let (last, low, high) = (number("last "), number("limits "), number("–"));
    assert!(low < last && last < high, "{words}");
}

#[test]
fn what_the_heat_of_the_grinder_does_is_learnt_from_its_own_days() {
    // 1.5 % faster for each hundred grams felt: 7 % at the end of the rush.
    let view = seen(&rush(6, -0.015), &wish());
    let row = &view.coffees[0];
    assert!(row.off_pct.abs() < 1.0, "{}", row.off_pct);
    assert!(row.warmth.contains("faster"), "{}", row.warmth);
    let percent: f64 = row.warmth.split("about ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((6.0..=9.0).contains(&percent), "{}", row.warmth);
    let slower = seen(&rush(6, 0.015), &wish());
    assert!(slower.coffees[0].warmth.contains("slower"), "{}", slower.coffees[0].warmth);
    // Without an effect none is learnt.
    let none = seen(&rush(6, 0.0), &wish());
    assert_eq!(none.coffees[0].warmth, "");
}

/// A chart of moving ranges is too often outside, or too seldom, if its limit is made for another run length than shown.
#[test]
fn the_range_limit_gives_the_run_length_that_is_shown() {
    let mut draws = Draws::new(20);
    for (false_a_month, days) in [(0.4, 20), (2.0, 20)] {
        let view = seen(&bar(days, &[27.0]), &Wish { false_a_month, ..wish() });
        let chart = &view.coffees[0].charts[0];
        let (mut alarms, mut points, mut before) = (0u32, 0u32, None);
        while alarms < 4000 {
            let z = draws.normal();
            points += 1;
            match before.replace(z) {
                Some(last) if f64::abs(z - last) > chart.range_limit => {
                    alarms += 1;
                    before = None;
                }
                _ => {}
            }
        }
        let seen = f64::from(points) / f64::from(alarms);
        // Five standard errors of 4000 alarms.
        assert!((seen / chart.run_length - 1.0).abs() < 0.08, "{seen} {}", chart.run_length);
    }
}
