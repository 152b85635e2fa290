//! What several tests share.

pub mod banquet;
pub mod screen;
