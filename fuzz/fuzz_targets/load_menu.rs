//! Any text is loaded or refused, and a menu that loads is read back as it is written.
//!
//! `cargo +nightly fuzz run load_menu ../sample-menus/every-field` begins from the example of every field.

#![no_main]

use std::io;

use countback::load::{Checked, Shelf, check_text, menu_text, write_menu};
use libfuzzer_sys::fuzz_target;

/// No files beside the text.
struct NoFiles;

impl Shelf for NoFiles {
    fn read(&self, _: &str) -> io::Result<String> {
        Err(io::ErrorKind::NotFound.into())
    }
}

fuzz_target!(|text: &str| {
    match check_text("fuzzed.ron", text, &NoFiles) {
        Ok(Checked::Menu(loaded)) => {
            let written = write_menu(&loaded.menu);
            let again = menu_text("written.ron", &written, &NoFiles).expect(&written);
            assert_eq!(again.menu, loaded.menu);
        }
        Ok(_) => {}
        Err(faults) => assert!(!faults.0.is_empty() && !faults.to_string().is_empty()),
    }
});
