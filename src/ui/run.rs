//! Starting the window over a notebook.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::app::{App, BeginOwn, Opened, Options};
use super::start::open_window;
use crate::store::{Aside, Holder};
use crate::workbench::{Session, Wanted, engine};

/// Opens the wanted notebook in a window and runs it to its end.
///
/// # Errors
/// One plain sentence when the notebook or the window cannot be opened.
pub fn run(wanted: Wanted) -> Result<(), String> {
    let timing = super::timing::Timing::from_environment();
    let options = Options { timing, ..options(&wanted)? };
    // Beside the notebook, not in it: what a file's columns mean is the same for every notebook.
    let settings = directories::ProjectDirs::from("", "", "thirdpull");
    let words = settings.as_ref().map(|dirs| dirs.config_dir().join("words"));
    let unspoken = words.as_ref().and_then(|folder| crate::words::choose(folder, None).err());
    open_window("Thirdpull", move |ctx| {
        let app = App::new(ctx, options);
        Box::new(match settings {
            Some(dirs) => app.speaking(words, unspoken).remembering(dirs.config_dir()),
            None => app,
        })
    })
}

fn options(wanted: &Wanted) -> Result<Options, String> {
    let zone = TimeZone::system();
    let opened = open(wanted, &zone)?;
    let begin_own: Option<BeginOwn> = opened.bench.notebook().demo.then(|| {
        let zone = zone.clone();
        Box::new(move || open(&Wanted::Own, &zone)) as BeginOwn
    });
    Ok(Options { opened, adviser: engine(), begin_own, now: Box::new(Timestamp::now), zone, timing: None })
}

fn open(wanted: &Wanted, zone: &TimeZone) -> Result<Opened, String> {
    let now = Timestamp::now();
    let today = now.to_zoned_datetime(zone.clone()).date();
    let session = Session::open(wanted, now, today, &Holder::here(), Aside::usual().as_ref())?;
    // The window makes the day's backup, now and while it stays open.
    Ok(Opened {
        place: session.path.display().to_string(),
        problems: session.problems.iter().map(ToString::to_string).collect(),
        bench: session.bench,
    })
}
