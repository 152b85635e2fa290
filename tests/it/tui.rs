//! The sheet: whole screens, and what keys, mouse, clock, book and planner make of them.

use crate::support::banquet::lantern_supper;
use crate::support::screen::Screen;

#[test]
fn look() {
    for (w, h) in [(80, 24), (120, 40), (200, 60)] {
        let mut s = Screen::open(&lantern_supper(), w, h);
        eprintln!("{}", s.text());
    }
    let mut s = Screen::open(&lantern_supper(), 80, 24);
    eprintln!("{}", s.keys("s").text());
    eprintln!("{}", s.keys("t").text());
    eprintln!("{}", s.keys("j<Enter>").text());
    eprintln!("{}", s.keys("<Esc>f").text());
    eprintln!("{}", s.keys("<Esc>/pear").text());
    eprintln!("{}", s.keys("<Esc>?").text());
    eprintln!("{}", s.keys("<Esc>+++").text());
    eprintln!("{}", s.keys("S14:0").text());
}
