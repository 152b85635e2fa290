//! Plans as text and for other programs.
