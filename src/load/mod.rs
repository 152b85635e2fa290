//! Menu files: text to menu and back.
