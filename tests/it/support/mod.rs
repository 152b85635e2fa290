//! What several tests share.

pub mod banquet;
pub mod menus;
pub mod screen;
