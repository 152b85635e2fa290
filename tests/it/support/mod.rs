//! What several tests share.

pub(crate) mod banquet;
pub(crate) mod screen;
