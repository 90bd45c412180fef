//! Looks at the notebook's folder from outside, on a thread of its own: what file sync brought, whether it is still
//! there, whether whoever held it has gone.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use crate::store::{Disk, Outside, look_on};

/// Tells when the folder looks different from the last time. Dropping it ends its thread.
pub struct Watcher {
    news: Receiver<Outside>,
    _end: Sender<()>,
}

impl Watcher {
    /// How often the folder is looked at.
    pub const USUAL: Duration = Duration::from_secs(3);

    /// Starts to look at `root` every so often, for a `reader` or for the writer; `wake` is called when there is news. The
    /// first look is news too.
    #[must_use]
    pub fn start(
        disk: Arc<dyn Disk>,
        root: PathBuf,
        reader: bool,
        every: Duration,
        wake: Box<dyn Fn() + Send>,
    ) -> Self {
        let (tell, news) = channel();
        let (end, ended) = channel::<()>();
        let work = move || {
            let mut last = None;
            loop {
                let now = look_on(&*disk, &root, reader);
                let different = last.as_ref() != Some(&now);
                if different && tell.send(now.clone()).is_err() {
                    return;
                }
                if different {
                    wake();
                }
                last = Some(now);
                if !matches!(ended.recv_timeout(every), Err(RecvTimeoutError::Timeout)) {
                    return;
                }
            }
        };
        // Without a thread nothing is noticed from outside; the next opening reads everything anew.
        let _started = thread::Builder::new().name("folder watcher".to_owned()).spawn(work);
        Self { news, _end: end }
    }

    /// The newest news, if there is any.
    pub fn poll(&mut self) -> Option<Outside> {
        let mut newest = None;
        while let Ok(news) = self.news.try_recv() {
            newest = Some(news);
        }
        newest
    }
}
