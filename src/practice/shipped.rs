//! The packs that ship, built into the program. A test compares this list with `assets/practice/`.

macro_rules! files {
    ($($path:literal),* $(,)?) => {
        &[$(($path, include_str!(concat!("../../assets/practice/", $path)))),*]
    };
}

/// File name below `assets/practice/`, and text.
pub const SHIPPED: &[(&str, &str)] = files![
    "coffees/apricot-terrace.ron",
    "coffees/black-kettle.ron",
    "coffees/harvest-barn.ron",
    "coffees/moth-and-lamp.ron",
    "coffees/old-tin.ron",
    "coffees/paper-mill.ron",
    "coffees/river-bend.ron",
    "coffees/slate-quarry.ron",
    "coffees/two-winters.ron",
    "coffees/wet-meadow.ron",
    "drinkers/bright.ron",
    "drinkers/easy.ron",
    "drinkers/gentle.ron",
    "drinkers/particular.ron",
    "drinkers/round.ron",
    "stations/backwards.ron",
    "stations/kitchen.ron",
    "stations/scale.ron",
    "stations/school.ron",
    "stations/window-bar.ron",
    "exercises/backwards-dial.ron",
    "exercises/by-tongue.ron",
    "exercises/choked.ron",
    "exercises/dark-bag.ron",
    "exercises/first-pull.ron",
    "exercises/jets.ron",
    "exercises/light-bag.ron",
    "exercises/numbers-only.ron",
    "exercises/odd-one-out.ron",
    "exercises/old-tin.ron",
    "exercises/the-edge.ron",
    "exercises/three-pulls.ron",
    "exercises/three-stops.ron",
    "exercises/too-slow.ron",
    "studies/falling-pressure.ron",
    "studies/finer-or-coarser.ron",
    "studies/gentle-start.ron",
    "studies/hot-or-cool.ron",
    "studies/less-dose.ron",
    "studies/longer-or-shorter.ron",
    "studies/pressure-and-flow.ron",
    "studies/pressure.ron",
    "studies/saving-coffee.ron",
];
