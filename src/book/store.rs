//! The book's store.
