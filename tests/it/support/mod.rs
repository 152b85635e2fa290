//! What several tests share.

pub mod banquet;
pub(crate) mod menus;
pub mod screen;
