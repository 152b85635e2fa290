//! Arguments, reports, exit codes.
//!
//! [`run`] is the whole program but for its first line: it reads the command line as typed (`args`), understands
//! it (`command`), does it (a file for each command) and turns what went wrong into words and an exit code
//! (`report`). Standard output carries what was asked for and nothing else; everything said about it goes to
//! standard error, after `countback: `.

mod allergens;
mod amounts;
mod args;
mod book_list;
mod card_time;
mod check;
mod command;
mod cool;
mod demonstration;
mod dish_name;
mod generate;
mod instance;
mod learn;
mod order;
mod print;
mod report;
mod safety;
mod seen;
mod sheet;
mod shift;
mod solve;
mod step_name;
mod tick;
mod who;
mod write;

use std::ffi::OsString;
use std::io::{self, BufWriter, Write};

use clap::Parser;

use args::{Args, Asked, Everywhere, Hurt};
use command::Opened;
use print::Part;
use report::{Ending, Failure};

/// Does what the command line asks and returns the exit code: 0 fine, 1 the menu or its plan has faults, 2
/// wrong use, 3 the machine failed.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let mut errors = io::stderr().lock();
    let args = match Args::try_parse_from(arguments) {
        Ok(args) => args,
        Err(error) => return report::end(not_read(&error), &mut errors),
    };
    let mut out = BufWriter::new(io::stdout().lock());
    let done = act(&args, &mut out, &mut errors).and_then(|ending| {
        out.flush()?;
        Ok(ending)
    });
    // What was printed before a failure is still worth reading; a failure to print it is not worth more words.
    if done.is_err() {
        let _ = out.flush();
    }
    report::end(done, &mut errors)
}

#[allow(clippy::too_many_lines, reason = "an arm for each command")]
fn act(args: &Args, out: &mut impl Write, errors: &mut impl Write) -> Result<Ending, Failure> {
    let everywhere = &args.everywhere;
    let Some(command) = &args.command else {
        let opened = Opened::open(args.menu.as_deref(), everywhere)?;
        return sheet::show(&opened, &args.attention);
    };
    if args.attention.is_asked() {
        return Err(Failure::WrongUse(
            "--quiet and --on-alert are for a sheet: countback MENU --quiet, countback wall MENU --quiet".into(),
        ));
    }
    if let Some(menu) = &args.menu {
        return Err(Failure::WrongUse(format!(
            "\"{}\" stands before the command; write the command first: countback plan MENU",
            menu.display()
        )));
    }
    match command {
        Asked::Check { files } => check::check(files, everywhere, out, errors),
        Asked::Plan { menu, json } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            print::print(&opened, Part::Whole, *json, out)
        }
        Asked::Tonight { menu, until, json } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            print::print(&opened, Part::Tonight(until.as_deref()), *json, out)
        }
        Asked::Order { menu, by, form } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            order::print(&opened, *by, *form, out)
        }
        Asked::Amounts {
            menu,
            dish,
            covers,
            form,
        } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            amounts::print(&opened, dish.as_deref(), *covers, *form, out)
        }
        Asked::Tick {
            menu,
            step,
            what,
            at,
            reason,
        } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            let asked = tick::Asked {
                step,
                what: *what,
                at: at.as_deref(),
                reason: reason.as_deref(),
            };
            tick::tick(&opened, &asked, out)
        }
        Asked::Wall { menu, attention } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            sheet::show_on_wall(&opened, attention)
        }
        Asked::Now {
            menu,
            cook,
            station,
        } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            shift::now(&opened, cook.as_deref(), station.as_deref(), out)
        }
        Asked::Handover { menu, json } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            shift::handover(&opened, *json, print::width(), out)
        }
        Asked::Note { menu, words } => {
            write::note(&Opened::open(Some(menu), everywhere)?, words, out)
        }
        Asked::SeeTo {
            menu,
            words,
            at,
            past,
        } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            let words = (!past).then_some(words.as_slice());
            write::see_to(&opened, words, at.as_deref(), out)
        }
        Asked::Read {
            menu,
            step,
            reading,
        } => write::read(&Opened::open(Some(menu), everywhere)?, step, reading, out),
        Asked::Change { menu, words, yes } => {
            write::change(&Opened::open(Some(menu), everywhere)?, words, *yes, out)
        }
        Asked::Undo { menu, entry } => {
            write::undo(&Opened::open(Some(menu), everywhere)?, *entry, true, out)
        }
        Asked::Redo { menu, entry } => {
            write::undo(&Opened::open(Some(menu), everywhere)?, *entry, false, out)
        }
        Asked::Picture { menu, size, out } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            sheet::picture(&opened, size, out)
        }
        Asked::Book { menu } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            book_list::list(&opened, out)
        }
        Asked::Hurt(asked) => what_can_hurt(asked, everywhere, out),
        Asked::Learn {
            menu,
            json,
            accept,
            interactive,
        } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            let asked = learn::Asked {
                file: (menu.as_path() != std::path::Path::new("demo")).then_some(menu.as_path()),
                json: *json,
                accept,
                interactive: *interactive,
            };
            learn::learn(&opened, &asked, &mut io::stdin().lock(), out)
        }
        Asked::Instance { menu, out } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            instance::write(&opened, out)
        }
        Asked::Solve(asked) => solve::solve(asked, out),
        Asked::Generate(asked) => generate::generate(asked),
    }
}

/// Does what is asked about temperatures, allergens, labels and cooling.
fn what_can_hurt(
    asked: &Hurt,
    everywhere: &Everywhere,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    match asked {
        Hurt::Safety { menu, rules, form } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            safety::check(&opened, rules.as_deref(), *form, out)
        }
        Hurt::Allergens { menu, list, form } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            allergens::print(&opened, (*list).into(), *form, out)
        }
        Hurt::Labels {
            menu,
            dish,
            list,
            rules,
        } => {
            let opened = Opened::open(Some(menu), everywhere)?;
            let (dish, rules) = (dish.as_deref(), rules.as_deref());
            allergens::labels(&opened, dish, (*list).into(), rules, out)
        }
        Hurt::Cool(asked) => cool::cool(asked, everywhere, out),
    }
}

/// Help and version are no errors, and go where they were asked for.
fn not_read(error: &clap::Error) -> Result<Ending, Failure> {
    let text = error.render().to_string();
    if error.use_stderr() {
        let said = text.strip_prefix("error: ").unwrap_or(&text);
        return Err(Failure::WrongUse(said.trim_end().to_owned()));
    }
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(Ending::Fine)
}
