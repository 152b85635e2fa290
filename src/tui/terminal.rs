//! The terminal taken and given back: on leaving, on a panic, on a signal, and while standing aside.

use std::io::{self, Stdout, Write, stdout};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex};
use std::thread::{self, Builder};
use std::time::Duration;

use crossterm::cursor::Show;
use crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture,
    Event as Input,
};
use crossterm::execute;
use crossterm::terminal::{
    Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;

use super::event::Event;
#[cfg(unix)]
use super::event::Signal;

/// The terminal while the sheet has it; given back when dropped.
pub(super) struct Screen {
    terminal: Terminal<CrosstermBackend<Stdout>>,
    hold: Arc<Hold>,
}

/// Whether the terminal is the sheet's, and whether it is being drawn on.
#[derive(Debug, Default)]
struct Hold {
    taken: AtomicBool,
    drawing: Mutex<()>,
}

impl Screen {
    /// Takes the terminal, and sees to it that a panic gives it back before it reports itself.
    ///
    /// On a thread that works beside the screen the panic waits for the frame under way; nothing is drawn over
    /// its report, because [`Screen::draw`] draws only on a terminal that is still the sheet's. The thread that
    /// draws waits for nobody: the frame under way is its own, and has failed.
    pub(super) fn take() -> io::Result<Self> {
        let hold = Arc::new(Hold::default());
        let theirs = Arc::clone(&hold);
        let draws = thread::current().id();
        let previous = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            let frame = (thread::current().id() != draws).then(|| theirs.drawing.lock());
            give_back(&theirs.taken);
            drop(frame);
            previous(panic);
        }));
        enter(&hold.taken)?;
        let terminal = Terminal::new(CrosstermBackend::new(stdout()))
            .inspect_err(|_| give_back(&hold.taken))?;
        Ok(Self { terminal, hold })
    }

    /// Draws, as long as the terminal is the sheet's.
    pub(super) fn draw(
        &mut self,
        draw: impl FnOnce(&mut Terminal<CrosstermBackend<Stdout>>) -> io::Result<()>,
    ) -> io::Result<()> {
        let _frame = self.hold.drawing.lock();
        if self.hold.taken.load(Ordering::SeqCst) {
            draw(&mut self.terminal)
        } else {
            Ok(())
        }
    }

    /// Rings the terminal's bell, as long as the terminal is the sheet's.
    pub(super) fn ring(&mut self) -> io::Result<()> {
        let _frame = self.hold.drawing.lock();
        if self.hold.taken.load(Ordering::SeqCst) {
            // BEL: ECMA-48, §8.3.3.
            let mut out = stdout();
            out.write_all(b"\x07")?;
            out.flush()?;
        }
        Ok(())
    }

    /// Stands aside until the shell calls the program back, then takes the terminal again.
    #[cfg(unix)]
    pub(super) fn stand_aside(&mut self) -> io::Result<()> {
        give_back(&self.hold.taken);
        // Returns when the program is continued.
        signal_hook::low_level::emulate_default_handler(signal_hook::consts::SIGTSTP)?;
        enter(&self.hold.taken)?;
        let size = self.terminal.size()?;
        self.terminal.resize(size.into())
    }

    /// Where there are no jobs to be put aside, nothing happens.
    #[cfg(not(unix))]
    pub(super) fn stand_aside(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        give_back(&self.hold.taken);
    }
}

fn enter(taken: &AtomicBool) -> io::Result<()> {
    enable_raw_mode()?;
    taken.store(true, Ordering::SeqCst);
    execute!(
        stdout(),
        EnterAlternateScreen,
        // A program that was killed leaves its last screen behind; nothing of it may show through.
        Clear(ClearType::All),
        EnableMouseCapture,
        EnableBracketedPaste
    )
    .inspect_err(|_| give_back(taken))
}

/// Gives the terminal back, once. Every part is tried whatever becomes of the others; there is nobody left to
/// tell.
fn give_back(taken: &AtomicBool) {
    if taken.swap(false, Ordering::SeqCst) {
        let _ = execute!(
            stdout(),
            DisableBracketedPaste,
            DisableMouseCapture,
            LeaveAlternateScreen,
            Show
        );
        let _ = disable_raw_mode();
        let _ = stdout().flush();
    }
}

/// Starts the thread that waits for keys, mouse and resizes. It ends with the program.
pub(super) fn listen(events: Sender<Event>) -> io::Result<()> {
    // A first look, before the first frame is drawn: from here on no change of size is missed.
    crossterm::event::poll(Duration::ZERO)?;
    Builder::new().name("keys".to_owned()).spawn(move || {
        loop {
            let event = match crossterm::event::read() {
                Ok(Input::Key(key)) => Event::Key(key),
                Ok(Input::Mouse(mouse)) => Event::Mouse(mouse),
                Ok(Input::Paste(text)) => Event::Paste(text),
                Ok(Input::Resize(..)) => Event::Resized,
                Ok(Input::FocusGained | Input::FocusLost) => continue,
                Err(error) => Event::Broken(format!("the terminal gives no more keys: {error}")),
            };
            let last = matches!(event, Event::Broken(_));
            if events.send(event).is_err() || last {
                return;
            }
        }
    })?;
    Ok(())
}

/// Starts the thread that waits for signals.
#[cfg(unix)]
pub(super) fn heed_signals(events: Sender<Event>) -> io::Result<()> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM, SIGTSTP};
    let mut signals = signal_hook::iterator::Signals::new([SIGTERM, SIGINT, SIGHUP, SIGTSTP])?;
    Builder::new().name("signals".to_owned()).spawn(move || {
        for signal in signals.forever() {
            let asked = if signal == SIGTSTP {
                Signal::StandAside
            } else {
                Signal::End
            };
            if events.send(Event::Signal(asked)).is_err() {
                return;
            }
        }
    })?;
    Ok(())
}

/// Elsewhere the terminal's own keys are all there is.
#[cfg(not(unix))]
pub(super) fn heed_signals(_: Sender<Event>) -> io::Result<()> {
    Ok(())
}
