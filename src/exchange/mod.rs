//! Instances and schedules to and from other programs: the published text formats of project scheduling, and
//! JSON of our own.

pub mod published;
