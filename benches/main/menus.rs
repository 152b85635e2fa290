//! The menus that are measured, and the moments at which they are opened.

use std::path::PathBuf;

use countback::load;
use countback::menu::{Menu, ServiceDay};
use countback::plan;
use countback::time::{Date, Local, ServiceTime, Timestamp, Zone, time_of_day};

/// A menu as the program would open it.
pub(crate) struct Measured {
    /// What it is called in the report.
    pub(crate) name: &'static str,
    /// The menu, its service on a date.
    pub(crate) menu: Menu,
    /// Service and zone.
    pub(crate) service: ServiceTime,
    /// When it is opened.
    pub(crate) now: Timestamp,
    /// What the command line is told to open the same.
    pub(crate) words: Vec<String>,
}

/// Returns the demonstration, on the afternoon two days before service.
pub(crate) fn demonstration() -> Measured {
    let now = moment(2026, 11, 26, 14);
    let mut measured = open("demonstration", "lantern-supper", now, Zone::UTC);
    measured.menu.service.day = ServiceDay::On(Date::from_ymd_opt(2026, 11, 28).unwrap());
    measured.service = plan::service_of(&measured.menu, now, Zone::UTC);
    measured.words = words("demo", "2026-11-26 14:00");
    measured
}

/// Returns the large menu, on the morning of the first of its five days.
pub(crate) fn large() -> Measured {
    let now = moment(2026, 12, 8, 7);
    let mut measured = open("large menu", "harbour-gala", now, Zone::Europe__London);
    let file = path("harbour-gala");
    measured.words = words(file.to_str().unwrap(), "2026-12-08 07:00");
    measured
}

/// Returns the file of a sample menu.
pub(crate) fn path(menu: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("sample-menus")
        .join(menu)
        .join("menu.ron")
}

fn open(name: &'static str, menu: &str, now: Timestamp, zone: Zone) -> Measured {
    let menu = load::menu_file(&path(menu))
        .unwrap_or_else(|faults| panic!("{faults}"))
        .menu;
    let zone = menu.kitchen.zone.unwrap_or(zone);
    let service = plan::service_of(&menu, now, zone);
    Measured {
        name,
        menu,
        service,
        now,
        words: Vec::new(),
    }
}

fn words(menu: &str, now: &str) -> Vec<String> {
    [menu, "--now", now].map(str::to_owned).to_vec()
}

/// A full hour in UTC, which in winter is also London's.
fn moment(year: i32, month: u32, day: u32, hour: u32) -> Timestamp {
    let local = Local {
        date: Date::from_ymd_opt(year, month, day).unwrap(),
        time: time_of_day(hour, 0).unwrap(),
    };
    Timestamp::from_local(local, Zone::UTC)
}
