//! `note`, `see-to`, `read`, `change`, `undo`, `redo`: entries of the book that are no ticks, from the command line.
//!
//! They are the entries the sheet writes, understood by the same readers. What makes no sense is found before a book is
//! made for it. A note or a reading stands beside whatever others write meanwhile. A decision announces when each step
//! starts, so it is written only as the next entry after those it was planned from; where the book has gone on, it is
//! planned and shown again.

use std::collections::BTreeMap;
use std::io::{self, BufRead, IsTerminal, Write};

use super::command::Opened;
use super::report::{self, Ending, Failure};
use super::sheet::CARDS;
use super::{seen, step_name, tick, who};
use crate::book::{Book, Decision, Entry, EntryId, Errand, Happening, Note, access};
use crate::plan::{self, PlanOutcome, StepKey};
use crate::prep::{
    Comparison, ErrandAt, PrepState, decide, decision_words, entry_words, foreseen, goal_words,
    in_time_but, keeps_its_covers, meant, reading_words, to_bring_back, to_take_back,
    typed_decision, typed_reading, typed_time,
};
use crate::text::one_line;
use crate::time::Timestamp;

/// How many steps that move are named before a decision is taken.
const MOVES: usize = 6;

/// Writes a note: of a step where two words are given, else of the banquet.
pub(super) fn note(
    opened: &Opened,
    words: &[String],
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let (step, text) = match words {
        [step, text] => (Some(step.as_str()), text.trim()),
        words => (None, words.first().map_or("", |text| text.trim())),
    };
    if text.is_empty() {
        return Err(Failure::WrongUse("a note says something".into()));
    }
    let before = PrepState::fold(&opened.looked()?.0);
    let key = step.map(|step| find(opened, &before, step)).transpose()?;
    let about = key.as_ref().map_or(String::new(), |key| {
        format!(" of {}", one_line(&key.to_string()))
    });
    let what = Happening::Noted {
        step: key.map(|key| key.to_string()),
        text: text.to_owned(),
    };
    append(opened, opened.now, what, out)?;
    writeln!(out, "noted{about}: {}", one_line(text))?;
    Ok(Ending::Fine)
}

/// Writes that something was ordered, or done ahead, and prints what is to be seen to next. Without words it is every
/// order that was to be out by now.
pub(super) fn see_to(
    opened: &Opened,
    words: Option<&[String]>,
    asked: Option<&str>,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let zone = opened.service.zone();
    let at = match asked {
        None => opened.now,
        Some(text) => typed_time(text, opened.now, zone)
            .map_err(|said| Failure::WrongUse(format!("--at: {said}")))?,
    };
    let mut prep = PrepState::fold(&opened.looked()?.0);
    let decided = opened.as_decided(&prep);
    let outcome = decided.plan(&prep);
    let known = decided.errands(&prep, &outcome);
    let meant: Vec<ErrandAt> = if let Some(words) = words {
        vec![to_see_to(&decided, &known, words).map_err(Failure::WrongUse)?]
    } else {
        let now = decided.minute();
        let past = known.iter().filter(|it| it.is_order() && it.is_past(now));
        past.cloned().collect()
    };
    if meant.is_empty() {
        writeln!(out, "no order was to be out by now")?;
    }
    let mut seen_to = Vec::new();
    for errand in meant {
        // What was to be out by now was, as far as anybody says no more.
        let at = match (words, asked) {
            (None, None) if !is_beside(&errand, &prep) => decided.service.timestamp(errand.at),
            _ => at,
        };
        let what = Happening::SeenTo {
            errand: errand.errand.clone(),
        };
        (_, prep) = append(opened, at, what, out)?;
        seen_to.push((errand, at));
    }
    // An order takes nobody's hands, so no plan is another for it.
    let left = decided.errands(&prep, &outcome);
    for (errand, at) in seen_to {
        let says = one_line(&errand.says);
        writeln!(out, "seen to {}: {says}", at.local(zone))?;
        let known = left.iter().find(|it| it.errand == errand.errand);
        if let Some(off) = known.and_then(|known| known.off) {
            writeln!(out, "{}: a slip? undo takes it back", off.words())?;
        }
    }
    let past = left.iter().filter(|it| it.is_past(decided.minute()));
    match past.count() {
        0 => {}
        1 => writeln!(out, "1 thing was to be seen to by now: order says which")?,
        past => writeln!(
            out,
            "{past} things were to be seen to by now: order says which"
        )?,
    }
    let next = left
        .iter()
        .find(|it| it.seen_to.is_none() && !it.is_past(decided.minute()));
    match next {
        Some(next) => writeln!(
            out,
            "to see to next: {} by {}",
            one_line(&next.says),
            decided.service.local(next.at)
        )?,
        None => writeln!(out, "nothing else is to be ordered, soaked or thawed")?,
    }
    Ok(Ending::Fine)
}

/// Whether an order is of goods of which some are ordered already: nobody wanted more at its hour.
fn is_beside(errand: &ErrandAt, prep: &PrepState) -> bool {
    match &errand.errand {
        Errand::Order { goods } => goods.keys().any(|name| prep.ordered(name).is_some()),
        Errand::Ahead { .. } => false,
    }
}

/// Returns the one thing still to be seen to in which all of these words are, or in its dishes or its time, or says what it
/// could be. Words that are in the names of some goods of an order alone mean those.
fn to_see_to(opened: &Opened, errands: &[ErrandAt], words: &[String]) -> Result<ErrandAt, String> {
    let typed = words.join(" ");
    let wanted: Vec<String> = typed.split_whitespace().map(str::to_lowercase).collect();
    let beside = |it: &ErrandAt| {
        let dishes = it.dishes.iter();
        let dishes = dishes.filter_map(|&dish| opened.loaded.menu.dishes.get(dish));
        let dishes: Vec<&str> = dishes.map(|dish| dish.name.as_str()).collect();
        let at = opened.service.local(it.at);
        format!("for {}, by {at}", dishes.join(", "))
    };
    let (open, over): (Vec<&ErrandAt>, Vec<&ErrandAt>) =
        errands.iter().partition(|it| it.seen_to.is_none());
    let listed = |errands: &[ErrandAt]| {
        let line =
            |it: &ErrandAt| format!("\n  {}", one_line(&format!("{}, {}", it.says, beside(it))));
        errands.iter().map(line).collect::<String>()
    };
    // The name of some goods before words of anything, and those before what stands beside it.
    let exact = typed.trim().to_lowercase();
    let meant = |by: usize, it: &ErrandAt| match by {
        0 => it.of_goods(&exact),
        1 => it.meant_by(&wanted, ""),
        _ => it.meant_by(&wanted, &beside(it)),
    };
    for by in 0..3 {
        let found: Vec<ErrandAt> = open.iter().filter_map(|it| meant(by, it)).collect();
        match found.as_slice() {
            [] if over.iter().any(|it| meant(by, it).is_some()) => {
                let said = format!("\"{typed}\" is seen to already; undo takes it back");
                return Err(said);
            }
            [] => {}
            [only] => return Ok(only.clone()),
            several => {
                return Err(format!(
                    "\"{typed}\" could be any of these; write more of it:{}",
                    listed(several)
                ));
            }
        }
    }
    if open.is_empty() {
        return Err("nothing is to be ordered, soaked or thawed".to_owned());
    }
    let open: Vec<ErrandAt> = open.into_iter().cloned().collect();
    Err(format!("\"{typed}\" is none of these:{}", listed(&open)))
}

/// Writes a reading, and prints what it foretells.
pub(super) fn read(
    opened: &Opened,
    step: &str,
    text: &str,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let zone = opened.service.zone();
    let typed = typed_reading(text, opened.now, zone).map_err(Failure::WrongUse)?;
    let before = PrepState::fold(&opened.looked()?.0);
    let key = find(opened, &before, step)?;
    let what = Happening::Read {
        step: key.to_string(),
        reading: typed.reading,
        goal: typed.goal,
    };
    let (mut book, prep) = append(opened, typed.at, what, out)?;
    let goal = typed
        .goal
        .map_or_else(String::new, |goal| format!(", to {}", goal_words(goal)));
    writeln!(
        out,
        "{}: {}{goal}, {}",
        one_line(&key.to_string()),
        reading_words(typed.reading),
        typed.at.local(zone).weekday_clock()
    )?;
    let opened = &opened.as_decided(&prep);
    if let Some(foreseen) = foreseen(&opened.loaded.menu, &prep, &key) {
        writeln!(out, "{}", one_line(&foreseen.sentence(zone)))?;
        // The plan follows it, and what that costs is said with it.
        tick::plan_on(opened, &mut book, &prep, Some(&key), out)?;
    }
    Ok(Ending::Fine)
}

/// Takes an entry back, or brings back one that was; the last where none is named.
pub(super) fn undo(
    opened: &Opened,
    entry: Option<i64>,
    back: bool,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let entries = opened.looked()?.0;
    let before = PrepState::fold(&entries);
    let chosen = entry.map(EntryId);
    let found = if back {
        to_take_back(&before, &entries, chosen)
    } else {
        to_bring_back(&before, &entries, chosen)
    };
    let undone = found.map_err(Failure::WrongUse)?;
    let (mut book, prep) = append(opened, opened.now, Happening::Undone { entry: undone }, out)?;
    let meant = meant(&entries, undone, back);
    let entry = entries.iter().find(|entry| entry.id == meant);
    let said = entry.map_or(String::new(), |entry| {
        entry_words(&entry.what, opened.service.zone())
    });
    let how = if back { "taken back" } else { "brought back" };
    writeln!(out, "{how}: {}", one_line(&said))?;
    tick::plan_on(&opened.as_decided(&prep), &mut book, &prep, None, out)?;
    Ok(Ending::Fine)
}

/// Shows what would become of a decision, and takes it where `yes` says so or whoever is asked does.
pub(super) fn change(
    opened: &Opened,
    words: &[String],
    yes: bool,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    loop {
        let entries = opened.entries()?;
        let prep = PrepState::fold(&entries);
        let (decision, is) = weigh(opened, (&entries, &prep), &words, out)?;
        let says = decision_words(&decision, opened.service.zone());
        if !yes && !is_wanted(out)? {
            writeln!(out, "left as it is")?;
            return Ok(Ending::Fine);
        }
        let steps = match &is {
            PlanOutcome::Planned(plan) => {
                PrepState::announcement_of(&plan.announced(), plan.service)
            }
            _ => BTreeMap::new(),
        };
        let what = Happening::Decided { decision, steps };
        if append_after(opened, what, prep.last(), out)? {
            writeln!(out, "decided: {}", one_line(&says))?;
            return Ok(match is {
                PlanOutcome::Planned(_) => Ending::Fine,
                _ => Ending::Faulty,
            });
        }
        writeln!(
            out,
            "the book has gone on meanwhile; nothing is decided yet, and it is planned again:"
        )?;
    }
}

/// Prints what would become of a decision; returns it as understood, and the plan that it would lead to.
fn weigh(
    opened: &Opened,
    (entries, prep): (&[Entry], &PrepState),
    words: &[&str],
    out: &mut impl Write,
) -> Result<(Decision, PlanOutcome), Failure> {
    let before = opened.as_decided(prep);
    let (menu, service) = (&before.loaded.menu, before.service);
    let decision = typed_decision(words, menu, service, opened.now, &CARDS.fetch);
    let decision = decision.map_err(Failure::WrongUse)?;
    let decided = decide(menu, service, &decision, &CARDS.read).map_err(Failure::WrongUse)?;
    let mut after = before.keeping_told();
    (after.loaded.menu, after.service) = decided;
    let says = decision_words(&decision, service.zone());
    writeln!(out, "{}", one_line(&says))?;
    for said in keeps_its_covers(menu, &decision) {
        writeln!(out, "  {}", one_line(&said))?;
    }
    for said in opened.lacking(entries, prep, &after.loaded.menu) {
        writeln!(out, "! {}", one_line(&said))?;
    }
    let (was, is) = (before.plan(prep), after.plan(prep));
    compare((&before, &was), (&after, &is), out)?;
    Ok((decision, is))
}

/// Asks whether a decision is taken.
fn is_wanted(out: &mut impl Write) -> Result<bool, Failure> {
    let mut answers = io::stdin().lock();
    if !answers.is_terminal() {
        let said = "nothing is decided: nobody can be asked here; --yes takes it";
        return Err(Failure::WrongUse(said.into()));
    }
    write!(out, "take it? y or n: ")?;
    out.flush()?;
    let mut answer = String::new();
    answers.read_line(&mut answer)?;
    let answer = answer.trim().to_lowercase();
    Ok(matches!(answer.as_str(), "y" | "yes"))
}

/// Prints the plan before beside the plan after.
fn compare(
    before: (&Opened, &PlanOutcome),
    after: (&Opened, &PlanOutcome),
    out: &mut impl Write,
) -> Result<(), Failure> {
    let holds = |outcome: &PlanOutcome| matches!(outcome, PlanOutcome::Planned(_));
    let comes = in_time_but(after.1).unwrap_or(match (holds(before.1), holds(after.1)) {
        (true, true) => "it can be done, as before",
        (false, true) => "it can then be done",
        (true, false) => "it can then no longer be done in time:",
        (false, false) => "it still cannot be done in time:",
    });
    writeln!(out, "{comes}")?;
    // Times that would have been needed are no plan to be held against another.
    let plan = |outcome: &'_ PlanOutcome| match outcome {
        PlanOutcome::Planned(plan) => Some(plan.clone()),
        other => other.forecast().cloned(),
    };
    let (Some(was), Some(is)) = (plan(before.1), plan(after.1)) else {
        return why(after.1, out);
    };
    let (was, is) = (&was, &is);
    let all = Comparison::of((was, &before.0.loaded.menu), (is, &after.0.loaded.menu));
    for dish in &all.dishes {
        writeln!(out, "  {}", one_line(&dish.words()))?;
    }
    why(after.1, out)?;
    let count = |count: usize, what: &str| match count {
        1 => format!("1 step {what}"),
        many => format!("{many} steps {what}"),
    };
    for (names, what) in [(&all.new, "more"), (&all.gone, "less")] {
        if !names.is_empty() {
            writeln!(out, "  {}", count(names.len(), what))?;
        }
    }
    match all.moves.len() {
        0 => writeln!(out, "  no step moves")?,
        1 => writeln!(out, "  1 step moves:")?,
        many => writeln!(out, "  {many} steps move:")?,
    }
    for one in all.moves.iter().take(MOVES) {
        writeln!(out, "    {}", one_line(&one.words(before.0.service)))?;
    }
    if all.moves.len() > MOVES {
        writeln!(out, "    and {} more", all.moves.len() - MOVES)?;
    }
    Ok(())
}

/// Prints why a plan does not hold, where it does not.
fn why(outcome: &PlanOutcome, out: &mut impl Write) -> Result<(), Failure> {
    let (PlanOutcome::TooLate { because, .. } | PlanOutcome::Impossible(because)) = outcome else {
        return Ok(());
    };
    let behind = outcome.only_behind().map(plan::Plan::overtime_words);
    for why in behind.iter().flatten().chain(because) {
        writeln!(out, "  {}", one_line(why))?;
    }
    Ok(())
}

fn find(opened: &Opened, prep: &PrepState, step: &str) -> Result<StepKey, Failure> {
    let steps = plan::named(&opened.as_decided(prep).loaded.menu);
    let found = step_name::find(&steps, step).map_err(Failure::WrongUse)?;
    Ok(found.key.clone())
}

/// Writes an entry; returns the book, and where the prep stands then.
fn append(
    opened: &Opened,
    at: Timestamp,
    what: Happening,
    out: &mut impl Write,
) -> Result<(Book, PrepState), Failure> {
    let (mut book, mut entries) = to_write(opened)?;
    note_changes(opened, &mut book, &mut entries, out)?;
    book.append(&note_of(opened, at, what))?;
    let prep = PrepState::fold(&book.entries(&opened.event)?);
    Ok((book, prep))
}

/// Writes an entry, unless the book's last one about the banquet is another than `last`; returns whether it did.
fn append_after(
    opened: &Opened,
    what: Happening,
    last: Option<EntryId>,
    out: &mut impl Write,
) -> Result<bool, Failure> {
    let (mut book, mut entries) = to_write(opened)?;
    if entries.last().map(|entry| entry.id) != last {
        return Ok(false);
    }
    note_changes(opened, &mut book, &mut entries, out)?;
    let last = entries.last().map(|entry| entry.id);
    let written = book.append_after(&note_of(opened, opened.now, what), last)?;
    Ok(written.is_some())
}

/// Opens the book, says what there is to say of it, and returns what it holds of the banquet.
fn to_write(opened: &Opened) -> Result<(Book, Vec<Entry>), Failure> {
    let access = access::to_write(&opened.book, opened.now)?;
    for remark in opened.remarks(&access) {
        report::say(&remark, &mut io::stderr().lock());
    }
    let entries = access.book.entries(&opened.event)?;
    Ok((access.book, entries))
}

fn note_changes(
    opened: &Opened,
    book: &mut Book,
    entries: &mut Vec<Entry>,
    out: &mut impl Write,
) -> Result<(), Failure> {
    for change in seen::note_changes(opened, book, entries)? {
        writeln!(out, "the menu has changed: {}", one_line(&change))?;
    }
    Ok(())
}

fn note_of(opened: &Opened, at: Timestamp, what: Happening) -> Note {
    Note {
        event: opened.event.clone(),
        at,
        written: opened.now,
        who: who::name(),
        place: who::place(),
        what,
    }
}
