//! The command line as typed.
//!
//! Nothing is done here and nothing is looked up: texts stay texts until [`super::command`] understands them,
//! because a time of day means nothing before the menu has named the kitchen's zone.

use std::path::PathBuf;

use clap::{Args as Group, Parser, Subcommand, ValueEnum};

const LONG_ABOUT: &str = "\
Plans a banquet's sweet course backward from service, and keeps the countdown true while it is cooked.

You write a menu: dishes with their steps, how long each takes, whose hands and which kit it needs, what must \
wait for what. countback counts back from the hour of service, shows when each step has to start, says what \
must start tonight, and keeps what you tick off in a book on disk.

Given nothing, it opens its built-in demonstration. Given a MENU, it opens that menu's sheet on the terminal.";

const AFTER_HELP: &str = "\
Examples:
  countback                                    look around in the demonstration
  countback supper.ron                         open the sheet of a menu
  countback check supper.ron cards/*.ron       every fault in these files, each with its place
  countback tonight supper.ron --until 23:00   what has to start before eleven
  countback plan supper.ron | lp               the whole plan, a day a page, to the printer
  countback order supper.ron --by date         what to buy, and by when to order it
  countback amounts supper.ron pears --covers 110
  countback tick supper.ron pears/poach done --at 14:05
  countback change supper.ron covers 90        what would become of it, and whether to take it
  countback wall supper.ron                    on a screen that everybody sees
  countback demo --speed 600                   rehearse: a minute in a tenth of a second
  countback instance supper.ron --out supper.json && countback solve supper.json --out plan.json

MENU is a file, or `demo` for the demonstration. A file that is named like a command is opened as ./plan.
STEP is a step's full name, or any part of it that fits one step alone: pears/poach, poach, boil~2.
TIME is on the kitchen's clock: 14:30, \"2026-11-26 14:30\", or 2026-11-26T14:30:00+01:00 anywhere.

The demonstration is always served the day after tomorrow, so that \"tonight\" means something. Once a step of \
it has been ticked it keeps its date until it is served: no tick is lost at midnight.

Files:
  The book keeps what was ticked: book.sqlite in the folder where this machine keeps programs' data \
(Linux: $XDG_DATA_HOME/countback or ~/.local/share/countback), or wherever --book says. Commands that only \
look never make one. A damaged book is kept aside by whoever writes next, and what can be saved of it is saved.

Environment:
  NO_COLOR   if set and not empty, the sheet uses no colours; it says the same without

Exit codes:
  0  fine
  1  the menu or the instance has faults, or its plan has: it does not fit, or not in time any more
  2  wrong use: no such option, file or step, or a tick that makes no sense
  3  the machine failed: the book or a file cannot be read or written, or countback itself is at fault

Times and temperatures on a plan are the cook's own; where food safety is concerned, local law and the person \
responsible decide.";

const CHANGES: &str = "\
What can be decided:
  covers 90              covers 60 of pears
  batches 3 of pears     batches needed of pears
  service 20:00          service \"2026-11-29 19:00\"
  without DISH           with FILE (a dish card), with FILE for 40 in COURSE
  away COOK              away \"first cook\" now until Sat 08:00
  out KIT                out hob 2 until 18:00
  hands 14:00..20:00     one more pair of hands
  stay 00:30             whoever works until the end of the shift stays until then
  more KIT               more hob 2

Dishes, cooks and kit are named by their id or name, or a part that fits one alone.";

/// The command line.
#[derive(Debug, Parser)]
#[command(
    name = "countback",
    version,
    about = "Plans a banquet's sweet course backward from service, and keeps the countdown true while it is cooked",
    long_about = LONG_ABOUT,
    after_long_help = AFTER_HELP,
    after_help = "See --help for examples, files, environment and exit codes.",
    override_usage = "countback [OPTIONS] [MENU]\n       countback [OPTIONS] <COMMAND> …",
    max_term_width = 100,
    disable_help_subcommand = true,
)]
pub(super) struct Args {
    /// What to do; none opens the sheet.
    #[command(subcommand)]
    pub(super) command: Option<Asked>,
    /// The menu to open: a file, or `demo`; none opens the demonstration
    #[arg(value_name = "MENU")]
    pub(super) menu: Option<PathBuf>,
    #[command(flatten)]
    pub(super) attention: Attention,
    #[command(flatten)]
    pub(super) everywhere: Everywhere,
}

/// How a sheet calls for attention.
#[derive(Debug, Default, Group)]
pub(super) struct Attention {
    /// Leave the terminal's bell alone
    #[arg(long)]
    pub(super) quiet: bool,
    /// Run this program when something begins to call, the call's text, name and last moment behind its own arguments;
    /// no shell has a part in it: parts are split at blanks, and quotation marks hold a part together
    #[arg(long, value_name = "COMMAND")]
    pub(super) on_alert: Option<String>,
}

impl Attention {
    /// Returns whether anything of it was asked for.
    pub(super) fn is_asked(&self) -> bool {
        self.quiet || self.on_alert.is_some()
    }
}

/// Options of every command.
#[derive(Debug, Group)]
pub(super) struct Everywhere {
    /// Take this as the time instead of the machine's clock; it stands still unless --speed lets it run
    #[arg(long, value_name = "TIME", global = true)]
    pub(super) now: Option<String>,
    /// Let the clock run so many times as fast as real time, from --now or from now: a rehearsal
    #[arg(long, value_name = "FACTOR", global = true, allow_hyphen_values = true)]
    pub(super) speed: Option<String>,
    /// Keep the book in this file
    #[arg(long, value_name = "FILE", global = true)]
    pub(super) book: Option<PathBuf>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(super) enum Asked {
    /// Say everything that is wrong with menus, dish cards and kitchens
    Check {
        /// The files
        #[arg(value_name = "FILE", required = true)]
        files: Vec<PathBuf>,
    },
    /// Print the whole plan, a day a page
    Plan {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Print it for programs instead
        #[arg(long)]
        json: bool,
    },
    /// Print what has to start from now until the kitchen next opens
    Tonight {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Until this time instead: 23:00, "Fri 05:30", "2026-11-27 06:00"
        #[arg(long, value_name = "TIME")]
        until: Option<String>,
        /// Print it for programs instead
        #[arg(long)]
        json: bool,
    },
    /// Print what to buy, in packs, from whom and by when
    Order {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// What the list is divided by
        #[arg(long, value_enum, default_value_t = DividedBy::Supplier)]
        by: DividedBy,
        #[command(flatten)]
        form: Form,
    },
    /// Print what dishes take, batch by batch, and in which vessels
    Amounts {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Only this dish: its id or a part of its name that fits one dish alone
        dish: Option<String>,
        /// For so many covers instead, and what that changes
        #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
        covers: Option<u32>,
        #[command(flatten)]
        form: Form,
    },
    /// Write in the book that a step has started, is done, is skipped, or take back what was said last
    Tick {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// The step's name, or a part of it that fits one step alone
        step: String,
        /// What happened
        #[arg(value_enum)]
        what: Tick,
        /// When: 14:05, -20 (so many minutes ago), "Thu 23:10"; none is now
        #[arg(long, value_name = "TIME", allow_hyphen_values = true)]
        at: Option<String>,
        /// Why a step is skipped
        #[arg(long, value_name = "TEXT", allow_hyphen_values = true)]
        reason: Option<String>,
    },
    /// Show what runs and what wants hands next, large, on a screen that nobody ticks at
    Wall {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        #[command(flatten)]
        attention: Attention,
    },
    /// Print what runs and what wants hands next
    Now {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Only what this cook has to do, and what is everybody's
        #[arg(long, value_name = "NAME")]
        cook: Option<String>,
        /// Only what is done at this station, and what is done anywhere
        #[arg(long, value_name = "NAME")]
        station: Option<String>,
    },
    /// Print what the next shift has to know; a note that begins with "handed over" ends a shift
    Handover {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Print it for programs instead
        #[arg(long)]
        json: bool,
    },
    /// Write a note in the book, of a step or of the banquet
    Note {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// The step's name where it is about one, and the note
        #[arg(value_name = "[STEP] TEXT", required = true, num_args = 1..=2)]
        words: Vec<String>,
    },
    /// Write in the book that something was ordered, or set to soak or thaw; `undo` takes it back
    SeeTo {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Words of it, its dishes or its time that fit one alone: "soak figs", "soak domes", "dairy wed"; the name of
        /// one of several goods means that one
        #[arg(required_unless_present = "past")]
        words: Vec<String>,
        /// When: 14:05, -20 (so many minutes ago), "Thu 23:10"; none is now
        #[arg(long, value_name = "TIME", allow_hyphen_values = true)]
        at: Option<String>,
        /// Every order that was to be out by now, at its last hour where no --at says otherwise; when something was set
        /// to soak or thaw is said one by one
        #[arg(long, conflicts_with = "words")]
        past: bool,
    },
    /// Write in the book what a step shows, and say what that foretells
    Read {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// The step's name, or a part of it that fits one step alone
        step: String,
        /// What it shows: "62 C", "62 C to 5 C in 3 C", "1.8 l to 1.2 l", "640 g at 14:05", passed
        #[arg(allow_hyphen_values = true)]
        reading: String,
    },
    /// Decide something otherwise than the menu says: what comes of it is shown before
    #[command(after_help = CHANGES)]
    Change {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// What
        #[arg(value_name = "WHAT", required = true, num_args = 1..)]
        words: Vec<String>,
        /// Take it without asking
        #[arg(long)]
        yes: bool,
    },
    /// Take back the last entry, or the one of this number; `book` prints the numbers
    Undo {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// The number of the entry
        entry: Option<i64>,
    },
    /// Bring back the entry that was taken back last, or the one of this number
    Redo {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// The number of the entry
        entry: Option<i64>,
    },
    /// Draw the sheet as a picture
    Picture {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Columns and lines of the screen drawn, as 120x40
        #[arg(long, value_name = "WxH", default_value = "120x40")]
        size: String,
        /// The picture to write, an SVG file
        #[arg(long, value_name = "FILE.svg")]
        out: PathBuf,
    },
    /// Print what the book holds for a menu, oldest first
    Book {
        /// The menu: a file, or `demo`
        menu: PathBuf,
    },
    /// What can hurt someone
    #[command(flatten)]
    Hurt(Hurt),
    /// Hold the cards' times against what past banquets took, and take better ones into the cards
    Learn {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Print it for programs instead
        #[arg(long, conflicts_with_all = ["accept", "interactive"])]
        json: bool,
        /// Write the better time of this step into its card; may be given more than once
        #[arg(long, value_name = "STEP", num_args = 1.., conflicts_with = "interactive")]
        accept: Vec<String>,
        /// Ask for each better time whether to write it into its card
        #[arg(long)]
        interactive: bool,
    },
    /// Write what a menu asks of the engine, as an instance for other programs
    Instance {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// The instance to write, JSON; the format stands in src/exchange/FORMAT.md
        #[arg(long, value_name = "FILE.json")]
        out: PathBuf,
    },
    /// Solve an instance from anywhere
    Solve(Solve),
    /// Invent an instance with a plan that is known to fit
    Generate(Generate),
}

/// What can hurt someone: temperatures, allergens, labels, cooling.
#[derive(Debug, Subcommand)]
pub(super) enum Hurt {
    /// Hold the plan against rules for temperatures: cooling, time out of the cold, keeping days, reheating
    Safety {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// By these rules instead of the menu's: us, england, wales, scotland, northern-ireland, anz
        #[arg(long, value_name = "RULES")]
        rules: Option<String>,
        #[command(flatten)]
        form: Form,
    },
    /// Print which dish contains which allergens, its cautions, and what guests with needs cannot be served
    Allergens {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// By which list
        #[arg(long, value_enum, default_value = "eu")]
        list: ListName,
        #[command(flatten)]
        form: Form,
    },
    /// Print a label for each batch: name, made on, use by, allergens, who
    Labels {
        /// The menu: a file, or `demo`
        menu: PathBuf,
        /// Only this dish, by its id or a part of its name
        dish: Option<String>,
        /// By which list of allergens
        #[arg(long, value_enum, default_value = "eu")]
        list: ListName,
        /// Days by these rules instead of the menu's
        #[arg(long, value_name = "RULES")]
        rules: Option<String>,
    },
    /// Ask whether food will be cold in time, before anything is cooked: by the card of a step, or by options alone
    Cool(Box<Cool>),
}

/// Which list of allergens.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum ListName {
    /// European Union and United Kingdom, fourteen
    Eu,
    /// United States, nine
    Us,
    /// Australia and New Zealand
    Anz,
}

/// Where food is cooled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Where {
    /// A fridge without a fan
    Fridge,
    /// A fridge with a fan
    Fan,
    /// A blast chiller
    Blast,
    /// Water with ice in it
    Ice,
}

/// What is to be cooled, and where.
#[derive(Debug, Group)]
pub(super) struct Cool {
    /// A menu whose card is asked about; what the options say is taken instead of what the card says
    #[arg(requires = "step")]
    pub(super) menu: Option<PathBuf>,
    /// The step of it that cools
    pub(super) step: Option<String>,
    /// How much of it: 5l
    #[arg(long, value_name = "LITRES")]
    pub(super) volume: Option<String>,
    /// How deep it stands: 50mm, 2in
    #[arg(long, value_name = "DEPTH")]
    pub(super) depth: Option<String>,
    /// How far across: "300 x 200 mm", round "240 mm", "ball of 90 mm"; none is a wide layer
    #[arg(long, value_name = "BREADTH")]
    pub(super) across: Option<String>,
    /// How warm it is: 85, 185F
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    pub(super) from: Option<String>,
    /// How cold it is to be; none is 5
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    pub(super) to: Option<String>,
    /// Where it is cooled; none is a fridge, the slowest
    #[arg(long = "in", value_enum, value_name = "PLACE")]
    pub(super) place: Option<Where>,
    /// How cold it is there; none is what such places usually have
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    pub(super) at: Option<String>,
    /// What it is to heat: water, custard, puree; none is the slowest of them
    #[arg(long, value_name = "FOOD", conflicts_with = "water")]
    pub(super) food: Option<String>,
    /// How much of it is water instead, of a hundred
    #[arg(long, value_name = "SHARE")]
    pub(super) water: Option<String>,
    #[command(flatten)]
    pub(super) lid: Lid,
    /// It is stirred all the time
    #[arg(long)]
    pub(super) stirred: bool,
    /// By these rules: us, england, wales, scotland, northern-ireland, anz; none is three that differ
    #[arg(long, value_name = "RULES")]
    pub(super) rules: Option<String>,
    /// A jelly: the temperature at which it sets
    #[arg(long, value_name = "DEGREES")]
    pub(super) sets_at: Option<String>,
    /// A jelly: how long it then takes, 4h
    #[arg(long, value_name = "TIME")]
    pub(super) then: Option<String>,
    /// Write the time that a jelly takes into the card of the step
    #[arg(long, requires = "sets_at", requires = "step", conflicts_with = "json")]
    pub(super) accept: bool,
    /// Print it for programs instead
    #[arg(long)]
    pub(super) json: bool,
}

/// Whether something lies on food that is cooled.
#[derive(Debug, Group)]
#[group(multiple = false)]
pub(super) struct Lid {
    /// Something lies on it; where nothing is said of it, it is reckoned both ways
    #[arg(long)]
    pub(super) covered: bool,
    /// Nothing lies on it
    #[arg(long)]
    pub(super) uncovered: bool,
}

/// In which form a table is printed.
#[derive(Clone, Copy, Debug, Group)]
#[group(multiple = false)]
pub(super) struct Form {
    /// Print it for programs instead
    #[arg(long)]
    pub(super) json: bool,
    /// Print it for a spreadsheet instead
    #[arg(long)]
    pub(super) csv: bool,
}

/// What an order list is divided by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum DividedBy {
    /// Who supplies it
    Supplier,
    /// What it is
    Kind,
    /// The day to order it
    Date,
}

/// What is to be solved, and for how long.
#[derive(Debug, Group)]
pub(super) struct Solve {
    /// The instance, JSON; the format stands in src/exchange/FORMAT.md
    #[arg(value_name = "FILE.json")]
    pub(super) instance: PathBuf,
    /// For how long to look for better plans
    #[arg(long, value_name = "SECONDS", default_value = "2")]
    pub(super) seconds: String,
    /// Look for so many epochs instead, a fixed amount of work each: the same plan on every machine
    #[arg(long, value_name = "N", conflicts_with = "seconds")]
    pub(super) epochs: Option<u32>,
    /// On how many threads, 1 or 2; the plan of an epoch is the same
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=2))]
    pub(super) threads: u8,
    /// Where the search takes its chances from
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(super) seed: u32,
    /// The plan to write, JSON; where there is none, why
    #[arg(long, value_name = "PLAN.json")]
    pub(super) out: PathBuf,
}

/// What is to be invented.
#[derive(Debug, Group)]
pub(super) struct Generate {
    /// How many activities
    #[arg(value_name = "COUNT", value_parser = clap::value_parser!(u32).range(3..=100_000))]
    pub(super) count: u32,
    /// Which instance: the same number gives the same one
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(super) seed: u32,
    /// Days of forty minutes, so that an outside solver can prove an optimum
    #[arg(long)]
    pub(super) small: bool,
    /// Only these parts of the model, with commas between them; nothing but a plain project where none is named
    #[arg(long, value_name = "FEATURES", value_delimiter = ',', num_args = 0..=1, default_missing_value = "")]
    pub(super) only: Option<Vec<String>>,
    /// Tighten it in a few places, so that it may be impossible
    #[arg(long, conflicts_with = "plan")]
    pub(super) squeeze: bool,
    /// The instance to write, JSON; the format stands in src/exchange/FORMAT.md
    #[arg(long, value_name = "FILE.json")]
    pub(super) out: PathBuf,
    /// The plan that is known to fit, JSON, if it is wanted
    #[arg(long, value_name = "PLAN.json")]
    pub(super) plan: Option<PathBuf>,
}

/// What can be ticked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum Tick {
    /// It has started
    Start,
    /// It is done
    Done,
    /// What was said of it last is taken back
    Undo,
    /// It will not be done; say why with --reason
    Skip,
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_declaration_holds_together() {
        Args::command().debug_assert();
    }

    #[test]
    fn a_menu_is_no_command_and_a_command_no_menu() {
        let read = |words: &[&str]| Args::try_parse_from(words).expect("is read");
        let none = read(&["countback"]);
        assert!(none.command.is_none() && none.menu.is_none());
        let menu = read(&["countback", "supper.ron", "--now", "14:30"]);
        assert_eq!(menu.menu, Some(PathBuf::from("supper.ron")));
        let file = read(&["countback", "./plan"]);
        assert!(file.command.is_none());
        assert_eq!(file.menu, Some(PathBuf::from("./plan")));
        let plan = read(&["countback", "--now", "14:30", "plan", "x", "--book", "b"]);
        assert!(matches!(plan.command, Some(Asked::Plan { .. })));
        assert_eq!(plan.everywhere.now.as_deref(), Some("14:30"));
        assert_eq!(plan.everywhere.book, Some(PathBuf::from("b")));
    }

    #[test]
    fn so_many_minutes_ago_is_no_option() {
        let args = Args::try_parse_from(["countback", "tick", "m", "s", "done", "--at", "-20"]);
        assert!(matches!(
            args.map(|args| args.command),
            Ok(Some(Asked::Tick { at: Some(at), .. })) if at == "-20"
        ));
    }
}
