//! Holding a recipe: did anything move, is it noise, and what to touch.
//!
//! The road of a morning: [`pulls::readings`] turns a bag's pulls into a series of log deviations from the keeper with
//! dose and cup taken out; [`habits::Habits`] learns noise and wander from it; [`calibrate::thresholds`] turns "false
//! adjustments a month" into a threshold; [`tracker::Tracker`] follows the level; [`verdict::open_day`] says where to
//! start, [`verdict::judge`] what to do after each pull, and [`verdict::Verdict::taken`] tells the tracker that it was
//! done; [`scatter`] tells days of wide pulls from one bad pull. [`morning::Morning`] takes one coffee down that road, and
//! [`neighbours`] lets the other coffees of its grinder have a say. [`charts`], [`rules`] and [`runlength`] are the
//! classical charts for the page; [`mixed`] separates people, stations and coffees; [`sunk`] counts the losses;
//! [`opening`] makes the list to follow; [`day`] knows rush heat and hoppers. Everything is a pure function of its input.

pub mod calibrate;
pub mod charts;
pub mod day;
pub mod habits;
pub mod mixed;
pub mod morning;
pub mod neighbours;
pub mod opening;
pub mod pulls;
pub mod rules;
pub mod runlength;
pub mod scatter;
pub mod series;
pub mod sunk;
pub mod tracker;
pub mod verdict;
