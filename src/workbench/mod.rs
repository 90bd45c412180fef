//! Everything that the program does, without a window: the open notebook, edits with undo and redo, the clock of a
//! pull, drafts, advice, notices and long work. Fronts (the window, the commands) read its state and send it edits;
//! they hold no rule of their own.

mod asking;
mod believing;
mod bench;
mod calibrating;
pub mod clock;
mod desk;
pub mod draft;
mod edit;
mod engine;
mod keeping;
mod language;
mod notice;
pub mod practice;
#[cfg(test)]
mod samples;
mod session;
mod standing;
mod tables;
mod task;
mod undo;
pub mod view;
mod watcher;

pub use asking::{Adviser, Answer, Question};
pub use believing::{Believed, Believing, believe, believer};
pub use bench::{Backing, Workbench};
pub use calibrating::{BarAnswers, Calibrating, ManyBars, bar_reader, calibrator, separator};
pub use desk::Desk;
pub use edit::{Change, Command, Refusal, number_of};
pub use engine::engine;
pub use keeping::{Finished, Job, Lent, typed_path};
pub use language::{Lacking, lacking, language_file};
pub use notice::{Notice, NoticeAction, NoticeLevel, Notices};
pub use session::{DEMO_SEED, DemoWritten, Session, Wanted, write_demo};
pub use standing::Standing;
pub use tables::{write_tables, write_traces};
pub use task::{Progress, Task};
pub use undo::{RecordChange, Step, TraceSwap, UndoStack};
pub use watcher::Watcher;
