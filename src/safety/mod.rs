//! Cautions, in our own words.
