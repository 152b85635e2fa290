//! How short: published instances solved, each answer checked twice before it is printed.
//!
//! ```text
//! cargo bench --bench published -- --seconds 1 --threads 2 --csv out.csv j120/*.sm
//! cargo bench --bench published -- --schedules 5000 j30/*.sm
//! ```
//!
//! prints (and writes) `file,status,objective,bound,wall,cpm,schedules`: what was proved (`OPTIMAL`, `FEASIBLE`,
//! `INFEASIBLE` or `UNKNOWN`), the makespan, the makespan no schedule is below, seconds, the length of the
//! critical path, and how many schedules were built. Where the lags alone contradict one another there is no
//! critical path. With `--schedules` the answers follow from that number and `--seed` alone; with `--seconds` from
//! the machine, too.
//!
//! `--test`, which `cargo bench -- --test` hands to every bench, solves the small instances in `tests/data/` for a
//! moment.

#![allow(
    clippy::disallowed_methods,
    clippy::panic,
    clippy::print_stderr,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a measurement reads files and the clock, and one that cannot go on should say so and stop"
)]

use std::fmt::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use countback::exchange::published::Format;
use countback::schedule::project::{Answer, Limits, Project, Status, solve};
use countback::schedule::{Schedule, verify};

struct Settings {
    seconds: f64,
    schedules: Option<u64>,
    threads: usize,
    seed: u64,
    csv: Option<String>,
    files: Vec<String>,
}

const USAGE: &str = "cargo bench --bench published -- [--seconds S] [--schedules N] [--threads N] [--seed N] \
    [--csv OUT] FILE…";

fn main() {
    let mut settings = Settings {
        seconds: 1.0,
        schedules: None,
        threads: 2,
        seed: 1,
        csv: None,
        files: Vec::new(),
    };
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().unwrap_or_else(|| panic!("{USAGE}"));
        match argument.as_str() {
            "--seconds" => settings.seconds = value().parse().unwrap(),
            "--schedules" => settings.schedules = Some(value().parse().unwrap()),
            "--threads" => settings.threads = value().parse().unwrap(),
            "--seed" => settings.seed = value().parse().unwrap(),
            "--csv" => settings.csv = Some(value()),
            // Cargo says that this is a bench, which it knows.
            "--bench" => {}
            "--test" => {
                settings.seconds = 0.2;
                for name in ["j301_1.sm", "UBO10_01.sch", "RG300_1.rcp"] {
                    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/instances");
                    settings
                        .files
                        .push(folder.join(name).to_string_lossy().into_owned());
                }
            }
            file if !file.starts_with('-') => settings.files.push(file.to_string()),
            _ => panic!("{USAGE}"),
        }
    }
    let mut written = String::from("file,status,objective,bound,wall,cpm,schedules\n");
    print!("{written}");
    for file in &settings.files {
        let line = measured(file, &settings);
        print!("{line}");
        written.push_str(&line);
        // A long run that is broken off has left what it had.
        if let Some(csv) = &settings.csv {
            std::fs::write(csv, &written).unwrap();
        }
    }
}

/// Returns the line of an instance.
fn measured(file: &str, settings: &Settings) -> String {
    let path = Path::new(file);
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let format = path
        .extension()
        .and_then(|it| Format::of_extension(&it.to_string_lossy()));
    let format = format.unwrap_or_else(|| panic!("{file} is neither .sm nor .sch nor .rcp"));
    let text = std::fs::read_to_string(path).unwrap_or_else(|fault| panic!("{file}: {fault}"));
    let project = match format.read(&text) {
        Ok(project) => project,
        Err(faults) => panic!("{file}: {faults:?}"),
    };
    let begun = Instant::now();
    let end = begun + Duration::from_secs_f64(settings.seconds);
    let limits = Limits {
        schedules: settings.schedules,
        threads: settings.threads,
        seed: settings.seed,
        stop: &|| settings.schedules.is_none() && Instant::now() >= end,
    };
    let answer = solve(&project, &limits);
    let wall = begun.elapsed().as_secs_f64();
    check(file, &project, &answer);
    let status = match answer.status {
        Status::Optimal => "OPTIMAL",
        Status::Feasible => "FEASIBLE",
        Status::Infeasible => "INFEASIBLE",
        Status::Unknown => "UNKNOWN",
    };
    let mut line = format!("{name},{status},");
    if answer.starts.is_some() {
        write!(line, "{}", answer.makespan).unwrap();
    }
    line.push(',');
    if answer.status != Status::Infeasible {
        write!(line, "{}", answer.bound).unwrap();
    }
    write!(line, ",{wall:.3},").unwrap();
    if let Some(length) = project.critical_path_length() {
        write!(line, "{length}").unwrap();
    }
    writeln!(line, ",{}", answer.schedules).unwrap();
    line
}

/// Stops everything where an answer is wrong by the plain check of projects, or by that of the mirrored instance.
fn check(file: &str, project: &Project, answer: &Answer) {
    let Some(starts) = &answer.starts else {
        return;
    };
    assert_eq!(
        project.verify(starts),
        None,
        "{file}: the answer breaks a rule"
    );
    assert_eq!(
        starts.last(),
        Some(&answer.makespan),
        "{file}: the makespan is another"
    );
    assert!(
        answer.bound <= answer.makespan,
        "{file}: the bound is above the makespan"
    );
    let instance = project.instance(answer.makespan);
    let mirrored = Schedule {
        placements: project.placements(starts),
        cost: i64::from(answer.makespan),
        bound: i64::from(answer.bound),
        ..Schedule::default()
    };
    let violations = verify::verify(&instance, &mirrored);
    assert!(
        violations.is_empty(),
        "{file}: the mirrored answer breaks {violations:?}"
    );
}
