//! Rules that need the whole menu in view.
