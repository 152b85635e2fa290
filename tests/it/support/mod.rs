//! What several tests share.

pub(crate) mod banquet;
pub(crate) mod menus;
pub(crate) mod screen;
pub(crate) mod terminal;
