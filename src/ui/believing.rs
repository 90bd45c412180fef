//! What the engine believes, asked for only while somebody looks at it.

use std::rc::Rc;

use eframe::egui::Context;

use super::app::App;
use crate::domain::{BagId, Lever};
use crate::workbench::view::foresee::{Foresight, Press};
use crate::workbench::{Believed, Believing, Desk, believer};

/// The workers and their last answers.
pub(super) struct Minds {
    ctx: Context,
    beliefs: Option<Desk<Believing, Believed>>,
    asked: Option<(BagId, u64, (Lever, Lever))>,
    believed: Option<(BagId, Rc<Believed>)>,
    seer: Option<Desk<Press, Foresight>>,
    press: Option<Press>,
    foresight: Option<Rc<Foresight>>,
}

impl Minds {
    /// Nothing asked, no thread started.
    pub(super) fn new(ctx: &Context) -> Self {
        Self {
            ctx: ctx.clone(),
            beliefs: None,
            asked: None,
            believed: None,
            seer: None,
            press: None,
            foresight: None,
        }
    }

    /// Forgets what was worked out.
    pub(super) fn forget(&mut self) {
        *self = Self::new(&self.ctx.clone());
    }

    /// Takes in what the workers have finished.
    pub(super) fn poll(&mut self) {
        if let Some(desk) = &mut self.beliefs
            && desk.poll()
            && let (Some(Ok(done)), Some((bag, ..))) = (desk.take(), self.asked)
        {
            self.believed = Some((bag, Rc::new(done)));
        }
        if let Some(desk) = &mut self.seer
            && desk.poll()
            && let Some(Ok(done)) = desk.take()
        {
            self.foresight = Some(Rc::new(done));
        }
    }

    /// Whether a worker is at work.
    pub(super) fn is_busy(&self) -> bool {
        self.beliefs.as_ref().is_some_and(Desk::is_busy) || self.seer.as_ref().is_some_and(Desk::is_busy)
    }
}

impl App {
    /// What is believed of the page's bag over two levers; `None` while it is being worked out.
    pub(super) fn believed(&mut self, levers: (Lever, Lever)) -> Option<Rc<Believed>> {
        let (best, next) = self.advice().map(|advice| (advice.best, advice.recipe))?;
        let question = self.question()?;
        let key = (question.bag.id, question.revision, levers);
        let minds = &mut self.minds;
        if let Some((bag, believed)) = &minds.believed
            && (*bag, believed.of.0, believed.of.1) == key
        {
            return Some(Rc::clone(believed));
        }
        if minds.asked != Some(key) {
            minds.asked = Some(key);
            let ctx = minds.ctx.clone();
            let desk = minds.beliefs.get_or_insert_with(|| {
                Desk::start("beliefs", believer(), Box::new(move || ctx.request_repaint()))
            });
            desk.ask(Believing { question, best, next, levers });
        }
        None
    }

    /// The shapes of pulls at the page's station; `None` while they are being worked out.
    pub(super) fn foresight(&mut self) -> Option<Rc<Foresight>> {
        let press = Press::of(self.station()?);
        let minds = &mut self.minds;
        if let Some(known) = minds.foresight.as_ref().filter(|known| *known.press() == press) {
            return Some(Rc::clone(known));
        }
        if minds.press != Some(press) {
            minds.press = Some(press);
            let ctx = minds.ctx.clone();
            let desk = minds.seer.get_or_insert_with(|| {
                Desk::start(
                    word!("believing-foresight"),
                    Foresight::new,
                    Box::new(move || ctx.request_repaint()),
                )
            });
            desk.ask(press);
        }
        None
    }
}
