//! A command of the cook's own that is run when something begins to call: a light, a louder bell, a message.
//!
//! No shell has a part in it. The command is a program and its arguments, split at blanks where a pair of quotation
//! marks holds a part together; what is told goes behind them as three arguments more, and whatever a step is called,
//! each stays one argument:
//!
//! 1. the sentence, after `countback: `, so that it never begins as an option does;
//! 2. the name of the call, `start pears/poach`;
//! 3. the last moment at which it can still be saved, in RFC 3339 on the kitchen's clock, or nothing.
//!
//! The sheet never waits for it: each run has a thread that waits for its end, so that none is left as a zombie, and at
//! most a few run at once. It reads nothing and what it prints goes nowhere. The first run that fails is told on the
//! sheet, the others are not.

use std::fmt;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::Sender;
use std::thread::Builder;

use super::event::Event;
use super::widgets::text::clean;
use crate::prep::Call;
use crate::time::ServiceTime;

/// How many runs there may be at once. A command that hangs costs so many threads, and no more.
const AT_ONCE: usize = 4;

/// A command of the cook's own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AlertCommand {
    program: String,
    arguments: Vec<String>,
}

impl AlertCommand {
    /// Returns the command a text names, or what is wrong with it. Parts are split at blanks; what stands in a pair of
    /// `"` or `'` is one part with all that is in it. Nothing else means anything.
    pub fn read(text: &str) -> Result<Self, String> {
        let mut parts: Vec<String> = Vec::new();
        let mut part: Option<String> = None;
        let mut quoted: Option<char> = None;
        for letter in text.chars() {
            match (quoted, letter) {
                (Some(mark), _) if mark == letter => quoted = None,
                (None, '"' | '\'') => {
                    quoted = Some(letter);
                    part.get_or_insert_default();
                }
                (None, _) if letter.is_whitespace() => parts.extend(part.take()),
                _ => part.get_or_insert_default().push(letter),
            }
        }
        if let Some(mark) = quoted {
            return Err(format!("a {mark} is opened and never closed"));
        }
        parts.extend(part);
        let mut parts = parts.into_iter();
        match parts.next().filter(|program| !program.is_empty()) {
            Some(program) => Ok(Self {
                program,
                arguments: parts.collect(),
            }),
            None => Err("name a program, and its arguments where it has any".to_owned()),
        }
    }
}

impl fmt::Display for AlertCommand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.program)
    }
}

/// What a command is told of a call.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Alert {
    /// The sentence.
    pub says: String,
    /// The name.
    pub name: String,
    /// The last moment, or nothing.
    pub by: String,
}

impl Alert {
    /// Returns what is told of a call.
    pub fn of(call: &Call, service: ServiceTime) -> Self {
        // No argument can hold a zero byte, and what shows texts is a terminal as often as not.
        let plain = |text: &str| clean(text).into_owned();
        let by = call
            .by
            .map(|by| service.timestamp(by).rfc3339_in(service.zone()));
        Self {
            says: format!("countback: {}", plain(&call.says)),
            name: plain(&call.name),
            by: by.unwrap_or_default(),
        }
    }
}

/// Runs the command, a few at once.
pub(super) struct Alerts {
    command: AlertCommand,
    running: Arc<AtomicUsize>,
    events: Sender<Event>,
}

impl Alerts {
    pub(super) fn new(command: AlertCommand, events: Sender<Event>) -> Self {
        Self {
            command,
            running: Arc::default(),
            events,
        }
    }

    /// Runs the command for a call; never waits.
    pub(super) fn run(&self, alert: &Alert) {
        if self.running.fetch_add(1, Ordering::SeqCst) >= AT_ONCE {
            self.running.fetch_sub(1, Ordering::SeqCst);
            let said = format!("{AT_ONCE} of them have not ended; this call was not told to it");
            self.failed(&said);
            return;
        }
        let mut command = Command::new(&self.command.program);
        command
            .args(&self.command.arguments)
            .args([&alert.says, &alert.name, &alert.by])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        let (running, events) = (Arc::clone(&self.running), self.events.clone());
        let spawned = Builder::new().name("alert".to_owned()).spawn(move || {
            // Waits for its end, so that the system can forget it.
            let ended = command.status();
            running.fetch_sub(1, Ordering::SeqCst);
            let why = match ended {
                Ok(status) if status.success() => return,
                Ok(status) => status.to_string(),
                Err(error) => error.to_string(),
            };
            let _ = events.send(Event::AlertFailed(why));
        });
        if let Err(error) = spawned {
            self.running.fetch_sub(1, Ordering::SeqCst);
            self.failed(&error.to_string());
        }
    }

    fn failed(&self, why: &str) {
        let _ = self.events.send(Event::AlertFailed(why.to_owned()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_is_split_at_blanks_and_quotation_marks_hold_together() {
        let read = |text: &str| {
            AlertCommand::read(text).map(|it| {
                let mut parts = vec![it.program];
                parts.extend(it.arguments);
                parts
            })
        };
        for (text, parts) in [
            ("ring", vec!["ring"]),
            ("  ring  -n 3 ", vec!["ring", "-n", "3"]),
            (
                "say \"to the stove\" now",
                vec!["say", "to the stove", "now"],
            ),
            ("say 'it is \"due\"' ''", vec!["say", "it is \"due\"", ""]),
            ("a\"b c\"d", vec!["ab cd"]),
            ("echo $HOME; rm *", vec!["echo", "$HOME;", "rm", "*"]),
        ] {
            assert_eq!(
                read(text),
                Ok(parts.into_iter().map(ToOwned::to_owned).collect()),
                "{text}"
            );
        }
        for text in ["", "   ", "''", "say \"to"] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}
