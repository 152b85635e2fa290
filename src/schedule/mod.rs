//! The scheduling engine: activities, resources, and when everything can happen at the latest.
//!
//! # What it solves
//! An [`Instance`] is a resource-constrained project scheduling problem with generalised precedence
//! (RCPSP/max: minimum and maximum time lags between starts and ends), resources whose capacity changes over
//! time, demands that change over an activity's duration, calendars, state resources with change-over times,
//! resources held from one activity to another, and durations that end when a gate opens. The terms are those
//! of Neumann, Schwindt and Zimmermann, *Project Scheduling with Time Windows and Scarce Resources* (2003).
//!
//! # What it does not know
//! Anything about food, files, the clock on the wall, or how to print. Times are whole [minutes](Time) and
//! every window is half open, `[start, end)`.
//!
//! # Reading order
//! [`problem`] says what is asked, [`solution`] what may be answered, [`network`] propagates the lags,
//! [`segments`] lays out what an activity uses when, [`cost`] says what a schedule costs, [`profile`] keeps count of a
//! resource over time, [`search`] places activities from the deadline backward,
//! [`partial_order`] reads off a schedule what waits for what, [`chance`] says what becomes of it when lengths vary,
//! [`project`] is a leaner kernel for what never changes, [`reach`] says how early and late anything can stand whatever
//! the others do, from which [`bound`] concludes what no schedule can cost less than and [`conflict`] why nothing fits,
//! and [`verify`] checks an answer minute by minute without sharing a
//! line with any of them.

pub mod bound;
pub mod chance;
pub mod conflict;
pub mod cost;
pub mod generate;
pub mod network;

pub mod partial_order;
pub mod problem;
pub mod profile;
pub mod project;
pub mod reach;
pub mod search;
pub mod segments;

pub mod solution;
pub mod verify;

pub use problem::{
    Activity, ActivityId, Anchor, Calendar, CalendarId, Coverage, Demand, Duration, Edge, Gate,
    GateId, Hold, Instance, Lag, Level, Mode, Resource, ResourceId, StateId, StateResource, Time,
    Use, Weights, Wish,
};

pub use cost::Cost;
pub use search::{Effort, solve};
pub use solution::{Blocking, Outcome, Placement, Schedule};
