//! One frame at 200×60: what a key changes, drawn, compared with the frame before and turned into bytes.

use std::hint::black_box;
use std::io::sink;

use countback::plan::PlanOutcome;
use countback::tui::{App, Colour, Effect, Event, Opening, panes};
use criterion::Criterion;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::backend::CrosstermBackend;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::{Terminal, TerminalOptions, Viewport};

use crate::menus::{self, Measured};
use crate::plan::fresh;

const SIZE: Rect = Rect {
    x: 0,
    y: 0,
    width: 200,
    height: 60,
};

/// Returns the sheet of a menu nobody has ticked yet, planned.
fn open(measured: &Measured) -> App {
    let opening = Opening {
        menu: measured.menu.clone(),
        service: measured.service,
        event: format!("{}@measured", measured.menu.id),
        entries: Vec::new(),
        who: "cook".to_owned(),
        place: "stove".to_owned(),
        notices: Vec::new(),
        colour: Colour::Full,
        cards: countback::tui::Cards {
            fetch: |name| Err(format!("no file {name} here")),
            read: |text| countback::load::dish_text("card", text).map_err(|it| it.to_string()),
        },
        wall: false,
    };
    let (mut app, wanted) = App::new(opening, measured.now);
    for effect in wanted {
        if let Effect::Replan { generation, .. } = effect {
            app.update(Event::Planned {
                generation,
                outcome: PlanOutcome::Planned(fresh(measured)),
            });
        }
    }
    app
}

fn key(code: KeyCode) -> Event {
    Event::Key(KeyEvent::new(code, KeyModifiers::NONE))
}

pub(crate) fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("draw 200x60");
    for measured in [menus::demonstration(), menus::large()] {
        let name = measured.name;
        let mut app = open(&measured);
        group.bench_function(format!("{name}, the panes alone"), |bencher| {
            bencher.iter(|| {
                let mut frame = Buffer::empty(SIZE);
                panes::draw(&mut frame, &app.sheet, &mut app.ui);
                black_box(frame)
            });
        });

        let screen = TerminalOptions {
            viewport: Viewport::Fixed(SIZE),
        };
        let mut terminal = Terminal::with_options(CrosstermBackend::new(sink()), screen).unwrap();
        let mut down = true;
        group.bench_function(format!("{name}, a key to the bytes it sends"), |bencher| {
            bencher.iter(|| {
                app.update(key(if down { KeyCode::Down } else { KeyCode::Up }));
                down = !down;
                terminal
                    .draw(|frame| {
                        panes::draw(frame.buffer_mut(), &app.sheet, &mut app.ui);
                    })
                    .unwrap();
            });
        });
        app.update(key(KeyCode::Char('?')));
        group.bench_function(format!("{name}, with the help open"), |bencher| {
            bencher.iter(|| {
                let mut frame = Buffer::empty(SIZE);
                panes::draw(&mut frame, &app.sheet, &mut app.ui);
                black_box(frame)
            });
        });
    }
    group.finish();
}
