//! Tables on standard output, side by side.

use crate::play::Game;
use crate::score::{Mean, Score, every_cup};

/// All games of one agent.
#[derive(Debug)]
pub struct Row {
    pub name: String,
    pub main: Vec<Game>,
    pub ageing: Vec<Game>,
    pub earlier: Vec<Game>,
    /// Milliseconds of the answers with about thirty pulls on record.
    pub late_ms: Vec<f64>,
}

fn percent(m: Mean) -> String {
    if m.n == 0 { "–".into() } else { format!("{:.0}±{:.0}", 100.0 * m.value, 100.0 * m.error) }
}

fn number(m: Mean) -> String {
    if m.n == 0 { "–".into() } else { format!("{:.2}±{:.2}", m.value, m.error) }
}

fn line(cells: &[String], widths: &[usize]) {
    let text: Vec<String> = cells
        .iter()
        .zip(widths.iter().chain(std::iter::repeat(&11)))
        .map(|(c, w)| format!("{c:>w$}"))
        .collect();
    println!("{}", text.join(" "));
}

fn head(cells: &[&str], widths: &[usize]) {
    line(&cells.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>(), widths);
}

/// Prints everything.
pub fn print(rows: &[Row], pulls: usize) {
    println!("\nDialling in (shares in %, ± one standard error)");
    let w = [12, 10, 10, 10, 6, 11, 11, 11, 10];
    let never = format!("never in {pulls}");
    head(&["", "within 3", "within 5", &never, "p90", "regret 3", "regret 5", "regret 8", "grams"], &w);
    for r in rows {
        let s = Score::of(&r.main.iter().collect::<Vec<_>>());
        line(
            &[
                r.name.clone(),
                percent(s.within_3),
                percent(s.within_5),
                percent(s.never),
                if s.p90_pulls.is_finite() { format!("{:.0}", s.p90_pulls) } else { format!(">{pulls}") },
                number(s.regret[0]),
                number(s.regret[1]),
                number(s.regret[2]),
                format!("{:.0}±{:.0}", s.grams.value, s.grams.error),
            ],
            &w,
        );
    }

    println!(
        "\nHonesty (coverage of 80 % ranges in %, mean width behind it; false settled: over a point short)"
    );
    let w = [12, 15, 15, 15, 11, 11, 8, 7, 7, 10, 10, 9, 7, 7];
    head(
        &[
            "", "time", "strength", "liking", "settled", "false", "of those", "Brier", "base", "claimed",
            "true", "off grid", "faults", "ms",
        ],
        &w,
    );
    for r in rows {
        let s = Score::of(&r.main.iter().collect::<Vec<_>>());
        let cover = |i: usize| {
            if s.coverage[i].n == 0 {
                "–".into()
            } else {
                format!("{} ({:.1})", percent(s.coverage[i]), s.width[i].value)
            }
        };
        let claims = s.brier.n > 0;
        let plain = |v: f64| if claims { format!("{v:.3}") } else { "–".into() };
        line(
            &[
                r.name.clone(),
                cover(0),
                cover(1),
                cover(2),
                percent(s.settled),
                percent(s.false_settled),
                percent(s.false_of_settled),
                plain(s.brier.value),
                plain(s.brier_base),
                plain(s.claim),
                plain(s.truth),
                s.off_grid.to_string(),
                s.faults.to_string(),
                format!("{:.1}", s.answer_ms.0),
            ],
            &w,
        );
        if let Some(f) = r.main.iter().find_map(|g| g.fault.as_ref().map(|f| (g.world, f))) {
            println!("{:>12} world {}: {}", "", f.0, f.1);
        }
    }

    groups(rows);
    if rows.iter().any(|r| !r.ageing.is_empty()) {
        println!("\nA bag over ten days: mean regret of every pulled cup");
        for r in rows {
            line(&[r.name.clone(), number(every_cup(&r.ageing.iter().collect::<Vec<_>>()))], &[12]);
        }
    }
    if rows.iter().any(|r| !r.earlier.is_empty()) {
        println!("\nTwo earlier bags given: regret of the served recipe after 3, and without them");
        for r in rows {
            let with = Score::of(&r.earlier.iter().collect::<Vec<_>>());
            let without = Score::of(&r.main.iter().collect::<Vec<_>>());
            line(
                &[r.name.clone(), number(with.regret[0]), number(without.regret[0]), percent(with.within_3)],
                &[12, 11, 11, 11],
            );
        }
    }
    if rows.iter().any(|r| !r.late_ms.is_empty()) {
        println!("\nOne answer with 26 to 30 pulls on record, milliseconds: median, 95th, worst");
        for r in rows {
            let mut v = r.late_ms.clone();
            let at = |v: &mut Vec<f64>, p: f64| format!("{:.2}", crate::score::point(v, p));
            line(&[r.name.clone(), at(&mut v, 0.5), at(&mut v, 0.95), at(&mut v, 1.0)], &[12]);
        }
    }
}

/// Per family and with or without refractometer, with the share of the barista-to-ceiling gap that each agent closes.
fn groups(rows: &[Row]) {
    type Chosen<'a> = Box<dyn Fn(&Game) -> bool + 'a>;
    let mut names: Vec<(&str, bool)> = Vec::new();
    for g in rows.iter().flat_map(|r| &r.main) {
        for name in [(g.family, true), (g.drinker.as_str(), false)] {
            if !names.contains(&name) {
                names.push(name);
            }
        }
    }
    names.sort_by_key(|n| !n.1);
    let mut sets: Vec<(String, Chosen)> = Vec::new();
    for (name, family) in names {
        let chosen: Chosen = if family {
            Box::new(move |g: &Game| g.family == name)
        } else {
            Box::new(move |g: &Game| g.drinker == name)
        };
        sets.push((name.to_lowercase(), chosen));
    }
    sets.push(("refractom.".into(), Box::new(|g| g.refractometer)));
    sets.push(("without".into(), Box::new(|g| !g.refractometer)));
    sets.push(("temperature".into(), Box::new(|g| g.temperature)));
    sets.push(("fixed temp.".into(), Box::new(|g| !g.temperature)));
    sets.push(("µm known".into(), Box::new(|g| g.um_known)));
    sets.push(("µm unknown".into(), Box::new(|g| !g.um_known)));
    sets.push(("no grind".into(), Box::new(|g| !g.grind_known)));
    println!(
        "\nBy family, drinker and gear: within 3 / within 5 / never (%), regret after 5 [share of the gap from barista to ceiling]"
    );
    let scored: Vec<Vec<Score>> = sets
        .iter()
        .map(|s| {
            rows.iter().map(|r| Score::of(&r.main.iter().filter(|g| s.1(g)).collect::<Vec<_>>())).collect()
        })
        .collect();
    let widths: Vec<usize> = std::iter::once(12).chain(rows.iter().map(|_| 30)).collect();
    let titles: Vec<String> =
        std::iter::once(String::new()).chain(rows.iter().map(|r| r.name.clone())).collect();
    line(&titles, &widths);
    let find = |n: &str| rows.iter().position(|r| r.name == n);
    for (set, scores) in sets.iter().zip(&scored) {
        let mut cells = vec![set.0.clone()];
        for s in scores {
            let gap = match (find("barista"), find("ceiling")) {
                (Some(b), Some(c)) => {
                    let (b, c) = (scores[b].regret[1].value, scores[c].regret[1].value);
                    format!(" [{:.0}%]", 100.0 * (b - s.regret[1].value) / (b - c))
                }
                _ => String::new(),
            };
            cells.push(format!(
                "{:.0}/{:.0}/{:.0} {}{gap}",
                100.0 * s.within_3.value,
                100.0 * s.within_5.value,
                100.0 * s.never.value,
                number(s.regret[1]),
            ));
        }
        line(&cells, &widths);
    }
}
