//! Arbitrary menus that have no fault: `menus()` for proptest.
//!
//! A menu is built from a tape of numbers, each of which decides one thing; past its end every decision is the
//! simplest. So a failing menu shrinks as its tape does, towards one dish of one step, and the builder can be
//! plain code that keeps every rule of `menu::check` as it goes: names that exist, gaps that can hold, hands that
//! there are.

use countback::menu::{
    Across, After, Ahead, Allergen, Amount, Batch, Caution, ClockWait, Cold, ColdBy, Conducts,
    Control, Cook, Cooling, Course, Days, Density, Dish, Edge, Freshness, Gap, GapLeast, Gelling,
    Goal, Goods, Guest, GuestKind, Hands, Hours, Ingredient, Keep, Kit, KitUse, Kitchen, Larder,
    Last, Leaf, Look, Menu, Moment, Multiple, Oven, Pack, Part, Per, Repeat, Rules, Service,
    ServiceDay, Span, Step, StepTime, Strength, Style, Sugar, SugarMark, Supplier, Taken,
    Temperature, Touch, Unit, Way, Work, words,
};
use countback::time::{Date, Minutes, TimeOfDay, Weekday, Zone, time_of_day};
use proptest::prelude::*;

/// Returns menus without faults, from one dish of one step to several of many.
pub(crate) fn menus() -> impl Strategy<Value = Menu> {
    let tape = proptest::collection::vec(any::<u32>(), 0..600);
    tape.prop_map(|tape| {
        let (at, goods) = (0, Vec::new());
        Tape {
            numbers: tape,
            at,
            goods,
        }
        .menu()
    })
}

/// Decisions yet to be made.
struct Tape {
    numbers: Vec<u32>,
    at: usize,
    /// The names of what is bought.
    goods: Vec<String>,
}

const WEEKDAYS: [Weekday; 7] = [
    Weekday::Mon,
    Weekday::Tue,
    Weekday::Wed,
    Weekday::Thu,
    Weekday::Fri,
    Weekday::Sat,
    Weekday::Sun,
];

/// Pieces of names: plain, accented, wide, combining, right to left, and what should not be in a name at all.
const WORDS: [&str; 14] = [
    "quince",
    "Crème brûlée",
    "杏仁",
    "e\u{301}",
    "שלום",
    "a \"quoted\" b",
    "back\\slash",
    "tab\there",
    "two\nlines",
    "nul\0",
    "esc\u{1b}[2J",
    "’",
    "(bracket",
    "r#\"raw\"#",
];

impl Tape {
    fn raw(&mut self) -> u32 {
        let drawn = self.numbers.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        drawn
    }

    /// Returns a number from 0 up to, not including, `count`.
    fn below(&mut self, count: u32) -> u32 {
        self.raw() % count.max(1)
    }

    fn between(&mut self, least: u32, most: u32) -> u32 {
        least + self.below(most - least + 1)
    }

    fn chance(&mut self) -> bool {
        self.below(2) == 1
    }

    fn pick<T: Clone>(&mut self, from: &[T]) -> T {
        from[self.below(from.len() as u32) as usize].clone()
    }

    fn maybe<T>(&mut self, make: impl FnOnce(&mut Self) -> T) -> Option<T> {
        self.chance().then(|| make(self))
    }

    fn some_of<T: Clone>(&mut self, from: &[T]) -> Vec<T> {
        from.iter().filter(|_| self.chance()).cloned().collect()
    }

    fn few<T>(&mut self, least: u32, most: u32, make: impl Fn(&mut Self, usize) -> T) -> Vec<T> {
        let count = self.between(least, most);
        (0..count as usize).map(|place| make(self, place)).collect()
    }

    fn name(&mut self) -> String {
        let (one, two) = (self.pick(&WORDS), self.pick(&WORDS));
        if self.chance() {
            format!("{one} {two}")
        } else {
            one.to_owned()
        }
    }

    fn id(&mut self, place: usize) -> String {
        let stem = self.pick(&["a", "Quince", "b-", "9", "Step-2x"]);
        format!("{stem}{place}")
    }

    fn minutes(&mut self, least: u32, most: u32) -> Minutes {
        Minutes(self.between(least, most) as i32)
    }

    fn clock(&mut self) -> TimeOfDay {
        let minute = self.below(1440);
        time_of_day(minute / 60, minute % 60).unwrap()
    }

    fn date(&mut self) -> Date {
        let (year, month, day) = (self.below(60), self.below(12), self.below(28));
        Date::from_ymd_opt(2026 + year as i32, month + 1, day + 1).unwrap()
    }

    fn moment(&mut self) -> Moment {
        let time = self.clock();
        match self.below(3) {
            0 => Moment::BeforeService(self.below(60), time),
            1 => Moment::Weekday(self.pick(&WEEKDAYS), time),
            _ => Moment::On(self.date(), time),
        }
    }

    fn span(&mut self) -> Span {
        let from = self.below(1440);
        let length = self.between(1, 1440);
        Span {
            from,
            to: from + length,
        }
    }

    fn days(&mut self) -> Days {
        let first = self.date();
        match self.below(4) {
            0 => Days::Every,
            1 => Days::Weekdays(vec![self.pick(&WEEKDAYS)]),
            2 => Days::Dates(
                first
                    .iter_days()
                    .take(self.between(1, 3) as usize)
                    .collect(),
            ),
            _ => Days::BeforeService((0..=self.below(4)).collect()),
        }
    }

    fn hours(&mut self) -> Hours {
        let days = self.days();
        let spans = match self.below(3) {
            0 => vec![self.span()],
            1 => vec![
                Span { from: 420, to: 900 },
                Span {
                    from: 900,
                    to: 1440,
                },
            ],
            _ => vec![Span { from: 0, to: 1440 }],
        };
        Hours { days, spans }
    }

    fn kit(&mut self, place: usize) -> Kit {
        let count = self.between(1, 60);
        Kit {
            id: self.id(place),
            name: self.name(),
            count,
            holds: self.maybe(|tape| tape.between(1, 100)),
            oven: self.maybe(|tape| Oven {
                change: tape.minutes(0, 90),
                shelves: tape.between(1, 4),
            }),
            cold: self.maybe(Self::cold),
            taken: self.few(0, 2, |tape, _| Taken {
                hours: tape.hours(),
                count: tape.maybe(|tape| tape.between(1, count)),
                by: tape.maybe(Self::name),
            }),
        }
    }

    fn cold(&mut self) -> Cold {
        Cold {
            at: self.between(0, 350) as i32 - 250,
            by: self.pick(&[ColdBy::Still, ColdBy::Fan, ColdBy::Blast, ColdBy::IceBath]),
        }
    }

    fn control(&mut self) -> Option<Control> {
        self.pick(&[None, Some(Control::Needed), Some(Control::NotNeeded)])
    }

    fn temperature(&mut self) -> Temperature {
        let at = self.between(0, 1500) as i32 - 250;
        let lasting = self.maybe(|tape| tape.between(1, 4000));
        match self.below(4) {
            0 => Temperature::Held { at },
            1 => Temperature::Cooked { to: at, lasting },
            2 => Temperature::Reheated { to: at, lasting },
            _ => Temperature::Cooled {
                from: at + self.between(1, 900) as i32,
                to: at,
            },
        }
    }

    fn cooling(&mut self, kitchen: &Kitchen) -> Cooling {
        let cold: Vec<_> = kitchen
            .kit
            .iter()
            .filter(|kit| kit.cold.is_some())
            .collect();
        Cooling {
            kit: match cold.as_slice() {
                [] => None,
                cold => self.maybe(|tape| tape.pick(cold).id.clone()),
            },
            depth: self.maybe(|tape| tape.between(1, 9999)),
            across: self.maybe(|tape| match tape.below(3) {
                0 => Across::Round(tape.between(1, 9999)),
                1 => Across::Ball(tape.between(1, 9999)),
                _ => Across::Sides(tape.between(1, 9999), tape.between(1, 9999)),
            }),
            covered: self.maybe(Self::chance),
            stirred: self.chance(),
            food: self
                .maybe(|tape| tape.pick(&[Conducts::Water, Conducts::Custard, Conducts::Paste])),
        }
    }

    fn guest(&mut self, dishes: &[Dish]) -> Guest {
        Guest {
            name: self.name(),
            count: self.between(1, 9),
            kind: self.pick(&[GuestKind::Anyone, GuestKind::Vulnerable, GuestKind::Infant]),
            avoids: self.allergens(),
            not: self.cautions(),
            without: self
                .maybe(|tape| tape.pick(dishes).id)
                .into_iter()
                .collect(),
        }
    }

    fn cook(&mut self, place: usize) -> Cook {
        let (shifts, overtime) = match self.below(3) {
            0 => (Vec::new(), Vec::new()),
            1 => (vec![self.hours()], Vec::new()),
            _ => {
                let days = self.days();
                let hours = |from, to| {
                    vec![Hours {
                        days: days.clone(),
                        spans: vec![Span { from, to }],
                    }]
                };
                (hours(420, 900), hours(900, 1080))
            }
        };
        Cook {
            name: format!("{}{place}", self.name()),
            skills: self.some_of(&["sugar".to_owned(), "cold \"hands\"".to_owned()]),
            shifts,
            overtime,
            away: self.few(0, 2, |tape, _| tape.hours()),
        }
    }

    fn kitchen(&mut self) -> Kitchen {
        Kitchen {
            name: self.name(),
            zone: self.maybe(|tape| {
                tape.pick(&[
                    Zone::Europe__London,
                    Zone::America__New_York,
                    Zone::Etc__GMTPlus5,
                ])
            }),
            altitude: self.maybe(|tape| tape.below(4000) as i32 - 400),
            open: vec![self.hours()],
            watched: self.maybe(Self::hours).into_iter().collect(),
            cooks: self.few(1, 3, Self::cook),
            stations: self.few(0, 2, |tape, place| (tape.id(place), tape.name())),
            kit: self.few(0, 3, Self::kit),
        }
    }

    fn unit(&mut self) -> Unit {
        self.pick(&[
            Unit::Count(String::new()),
            Unit::Count("leaves".to_owned()),
            Unit::Count("large Bunches".to_owned()),
            Unit::Count("paper cups".to_owned()),
            Unit::Milligram,
            Unit::Gram,
            Unit::Kilogram,
            Unit::Ounce,
            Unit::Pound,
            Unit::TroyOunce,
            Unit::TroyPound,
            Unit::Drachm,
            Unit::Dram,
            Unit::Grain,
            Unit::LabelOunce,
            Unit::Millilitre,
            Unit::Centilitre,
            Unit::Decilitre,
            Unit::Litre,
            Unit::MetricTeaspoon,
            Unit::MetricTablespoon,
            Unit::AustralianTablespoon,
            Unit::MetricCup,
            Unit::LabelTeaspoon,
            Unit::LabelTablespoon,
            Unit::LabelFluidOunce,
            Unit::LabelCup,
            Unit::UsFluidDram,
            Unit::UsDryPint,
            Unit::UsDryQuart,
            Unit::UsDryGallon,
            Unit::WineQuart,
            Unit::CornGallon,
            Unit::UsTeaspoon,
            Unit::UsTablespoon,
            Unit::UsFluidOunce,
            Unit::UsGill,
            Unit::UsCup,
            Unit::UsPint,
            Unit::UsQuart,
            Unit::UsGallon,
            Unit::UkTablespoon,
            Unit::ImperialFluidDrachm,
            Unit::ImperialFluidOunce,
            Unit::ImperialGill,
            Unit::ImperialPint,
            Unit::ImperialQuart,
            Unit::ImperialGallon,
            Unit::WinePint,
            Unit::WineGallon,
            Unit::AlePint,
            Unit::AleQuart,
            Unit::AleGallon,
        ])
    }

    fn number(&mut self) -> f64 {
        let whole = f64::from(self.below(2000));
        match self.below(4) {
            0 => whole,
            1 => whole + self.pick(&[0.5, 0.25, 0.75, 1.0 / 3.0, 2.0 / 3.0, 0.125, 0.875]),
            2 => whole / 10.0,
            _ => f64::from(self.below(1_000_000_000)) / f64::from(self.between(1, 9999)),
        }
    }

    fn amount(&mut self) -> Amount {
        if self.below(8) == 7 {
            return Amount::ToTaste;
        }
        Amount::Measured {
            number: self.number(),
            unit: self.unit(),
        }
    }

    fn allergens(&mut self) -> Vec<Allergen> {
        self.some_of(&[
            Allergen::Milk,
            Allergen::Egg,
            Allergen::Spelt,
            Allergen::BrazilNut,
            Allergen::Sulphites,
        ])
    }

    fn cautions(&mut self) -> Vec<Caution> {
        self.some_of(&[Caution::HotSugar, Caution::RawEgg, Caution::ChokingSize])
    }

    fn ahead(&mut self) -> Ahead {
        Ahead {
            what: self
                .pick(&["soak", "defrost in the cold", "Blanchir à l’eau"])
                .to_owned(),
            time: self.minutes(1, 3000),
        }
    }

    fn density(&mut self) -> Density {
        Density {
            grams_per_millilitre: f64::from(self.between(1, 2500)) / 100.0,
            source: self
                .pick(&["a label", "the house, its scale", "a \"book\""])
                .to_owned(),
        }
    }

    fn strength(&mut self) -> Strength {
        match self.below(2) {
            0 => Strength::Bloom(self.between(30, 325)),
            _ => {
                Strength::Leaf(self.pick(&[Leaf::Bronze, Leaf::Silver, Leaf::Gold, Leaf::Platinum]))
            }
        }
    }

    fn sugar(&mut self) -> SugarMark {
        let from = self.maybe(|tape| f64::from(tape.between(1, 500)) / 10.0);
        let to = match self.below(2) {
            0 => Sugar::Brix(f64::from(self.between(501, 999)) / 10.0),
            _ => Sugar::Stage(self.pick(&words::STAGES).1),
        };
        SugarMark { from, to }
    }

    /// Returns an amount of something.
    fn some(&mut self) -> Amount {
        Amount::Measured {
            number: self.number().max(0.5),
            unit: self.unit(),
        }
    }

    fn larder(&mut self) -> Larder {
        let suppliers = self.few(0, 2, |tape, place| Supplier {
            name: format!("{}{place}", tape.name()),
            order_ahead: tape.maybe(|tape| tape.minutes(0, 9000)),
            days: tape.maybe(Self::days),
            by: tape.maybe(Self::clock),
        });
        let names: Vec<String> = suppliers.iter().map(|it| it.name.clone()).collect();
        let currency = self.maybe(Self::name);
        let goods = self.few(0, 4, |tape, place| {
            let pack = tape.maybe(Self::some);
            Goods {
                name: format!("{}{place}", tape.name()),
                kind: tape.maybe(Self::name),
                supplier: match names.as_slice() {
                    [] => tape.maybe(Self::name),
                    names => tape.maybe(|tape| tape.pick(names)),
                },
                order_ahead: tape.maybe(|tape| tape.minutes(0, 9000)),
                price: tape
                    .maybe(|tape| u64::from(tape.below(900_000)))
                    .filter(|_| pack.is_some() && currency.is_some()),
                other_packs: match &pack {
                    Some(Amount::Measured { unit, .. }) => tape.few(0, 2, |tape, _| Pack {
                        holds: Amount::Measured {
                            number: tape.number().max(0.5),
                            unit: unit.clone(),
                        },
                        price: tape
                            .maybe(|tape| u64::from(tape.below(900_000)))
                            .filter(|_| currency.is_some()),
                    }),
                    _ => Vec::new(),
                },
                pack,
                loss: tape.below(951),
                density: tape.maybe(Self::density),
                each: tape.maybe(Self::some),
                stock: tape.maybe(Self::some),
                strength: tape.maybe(Self::strength),
                ahead: tape.maybe(Self::ahead),
            }
        });
        self.goods = goods.iter().map(|goods| goods.name.clone()).collect();
        Larder {
            currency,
            suppliers,
            goods,
        }
    }

    fn ingredient(&mut self, steps: &[Step]) -> Ingredient {
        let into = self.maybe(|tape| tape.pick(steps));
        let part = match into.as_ref().or(steps.first()).map(|step| &step.each) {
            Some(Multiple::Parts(parts)) => self.maybe(|tape| tape.pick(parts)),
            _ => None,
        };
        Ingredient {
            name: self.name(),
            amount: self.amount(),
            per: self.pick(&[Per::Batch, Per::Dish, Per::Portion]),
            into: into.map(|step| step.id),
            part,
            order_ahead: self.maybe(|tape| tape.minutes(0, 20_000)),
            supplier: self.maybe(Self::name),
            goods: match self.goods.clone().as_slice() {
                [] => None,
                goods => self.maybe(|tape| tape.pick(goods)),
            },
            ahead: self.maybe(Self::ahead),
            density: self.maybe(Self::density),
            strength: self.maybe(Self::strength),
            contains: self.maybe(Self::allergens),
            may_contain: self.maybe(Self::allergens),
            declared_by: self.maybe(Self::name),
            made_of: self.few(0, 2, |tape, _| Part {
                name: tape.name(),
                contains: tape.maybe(Self::allergens),
                may_contain: tape.maybe(Self::allergens),
            }),
            sulphites: self.maybe(|tape| tape.below(400)),
            cautions: self.cautions(),
        }
    }

    fn time(&mut self) -> StepTime {
        if self.below(4) == 3 {
            return StepTime::Clock {
                until: if self.chance() {
                    ClockWait::KitchenOpens(self.between(1, 7))
                } else {
                    ClockWait::TimeOfDay(self.clock())
                },
                at_least: self.minutes(0, 900),
            };
        }
        let shortest = i64::from(self.between(60, 100_000));
        let usual = shortest + i64::from(self.below(10_000));
        let mut growth = || i64::from(self.below(3) * self.below(900));
        let (per_piece, per_batch, per_litre) = (growth(), growth(), growth());
        let (usual, longest) = match self.below(3) {
            0 => (Some(shortest), shortest),
            1 => (None, usual),
            _ => (Some(usual), usual + i64::from(self.below(5000))),
        };
        StepTime::Elapsed(Work {
            shortest,
            usual,
            longest,
            per_piece,
            per_batch,
            per_litre,
            for_volume: None,
        })
    }

    fn hands(&mut self, time: &StepTime, cooks: u32) -> Hands {
        let length = match time {
            StepTime::Elapsed(work) => work.longest / 60,
            StepTime::Clock { .. } => 60,
        };
        // Both ends together must fit into the step.
        let end = (length / 2).min(600) as u32;
        let touch = |tape: &mut Self| {
            let touch = (end > 0).then(|| Touch {
                time: tape.minutes(1, end),
                hands: tape.between(1, cooks),
            });
            touch.filter(|_| tape.chance())
        };
        let every = self.between(1, 3000);
        Hands {
            throughout: self.below(cooks + 1),
            put_on: touch(self),
            take_off: touch(self),
            look: self.maybe(|tape| Look {
                every: Minutes(every as i32),
                time: tape.minutes(1, every),
                hands: tape.between(1, cooks),
            }),
            someone_about: self.chance(),
        }
    }

    fn uses(&mut self, kitchen: &Kitchen) -> Vec<KitUse> {
        let kit = self.some_of(&kitchen.kit);
        kit.into_iter()
            .map(|kit| KitUse {
                count: self.between(1, kit.count.div_ceil(2)),
                heat: kit
                    .oven
                    .and_then(|_| self.maybe(|tape| tape.below(6500) as i32 - 500)),
                kit: kit.id,
            })
            .collect()
    }

    fn fresh(&mut self) -> Freshness {
        let keeps = self.between(0, 9000);
        Freshness {
            best: self.maybe(|tape| tape.minutes(0, keeps)),
            keeps: self.maybe(|_| Minutes(keeps as i32)),
        }
    }

    fn gap(&mut self, with_most: bool) -> Gap {
        let least = self.between(0, 4000);
        let most = Minutes((least + self.below(4000)) as i32 * self.pick(&[0, 1]));
        match self.below(3) {
            0 => Gap::default(),
            1 => Gap {
                least: GapLeast::Nights(self.between(1, 5)),
                most: self.maybe(|_| Minutes(20_000)).filter(|_| with_most),
            },
            _ => Gap {
                least: GapLeast::Elapsed(Minutes(least as i32).min(most)),
                most: self.maybe(|_| most).filter(|_| with_most),
            },
        }
    }

    fn edge(&mut self) -> Edge {
        self.pick(&[Edge::End, Edge::Start])
    }

    fn step(&mut self, place: usize, before: &[Step], kitchen: &Kitchen) -> Step {
        let time = self.time();
        let skills: Vec<_> = kitchen
            .cooks
            .iter()
            .flat_map(|cook| cook.skills.clone())
            .collect();
        let skill = match skills.as_slice() {
            [] => None,
            skills => self.maybe(|tape| tape.pick(skills)),
        };
        // No more hands than there are cooks who can do it.
        let able = |cook: &&Cook| {
            skill
                .as_ref()
                .is_none_or(|skill| cook.skills.contains(skill))
        };
        let cooks = kitchen.cooks.iter().filter(able).count() as u32;
        let followed = self.some_of(before);
        // With one step to follow, any gap can hold; with several, a longest gap to one could contradict another.
        let alone = followed.len() == 1;
        let after = followed.iter().map(|step| After {
            step: step.id.clone(),
            gap: self.gap(alone),
            from: self.edge(),
            to: self.edge(),
        });
        let after: Vec<_> = after.collect();
        let together = match before {
            [first, ..] if after.is_empty() && self.chance() => vec![first.id.clone()],
            _ => Vec::new(),
        };
        let moment = self.moment();
        let shortest = match &time {
            StepTime::Elapsed(work) => work.shortest / 60 + 1,
            StepTime::Clock { .. } => 1440 * 7,
        };
        let temperature = self.maybe(Self::temperature);
        let cools = matches!(temperature, Some(Temperature::Cooled { .. }));
        Step {
            id: self.id(place),
            name: self.name(),
            method: self.maybe(Self::name),
            each: match self.below(3) {
                0 => Multiple::Dish,
                1 => Multiple::Batch,
                _ => Multiple::Parts(self.few(1, 3, |_, place| format!("rose \"{place}\""))),
            },
            station: match kitchen.stations.as_slice() {
                [] => None,
                stations => self.maybe(|tape| tape.pick(stations).0),
            },
            skill,
            until: self.maybe(Self::name),
            goal: self.maybe(|tape| match tape.below(3) {
                0 => Goal::Volume(i64::from(tape.between(1, 9000))),
                1 => Goal::Weight(i64::from(tape.between(1, 9000))),
                _ => Goal::Heat {
                    tenths: tape.between(0, 1200) as i32,
                    around: tape.maybe(|tape| tape.between(0, 300) as i32 - 200),
                },
            }),
            hands: self.hands(&time, cooks),
            uses: self.uses(kitchen),
            keeps_kit: Vec::new(),
            after,
            together,
            not_before: (self.below(3) == 1).then_some(moment),
            done_by: None,
            within: self
                .maybe(Self::span)
                .filter(|span| i64::from(span.to - span.from) >= shortest),
            fresh: self.fresh(),
            ways: self.few(0, 2, |tape, place| {
                let time = tape.time();
                Way {
                    name: format!("{}{place}", tape.name()),
                    hands: tape.hands(&time, cooks),
                    time,
                    uses: tape.uses(kitchen),
                }
            }),
            temperature,
            cooling: cools
                .then(|| self.maybe(|tape| tape.cooling(kitchen)))
                .flatten(),
            control: self.control(),
            sugar: self.maybe(Self::sugar),
            cautions: self.cautions(),
            time,
        }
    }

    fn steps(&mut self, first: usize, count: u32, kitchen: &Kitchen) -> Vec<Step> {
        let mut steps: Vec<Step> = Vec::new();
        for place in 0..count as usize {
            let step = self.step(first + place, &steps, kitchen);
            steps.push(step);
        }
        // A deadline instead of a release, so that the two never contradict each other.
        for step in &mut steps {
            if self.chance() {
                step.done_by = step.not_before.take();
            }
        }
        // Kit is kept from a step to a later one; half of each kind is left for `uses`.
        for place in 1..steps.len() {
            let until = steps[place].id.clone();
            let keeps = self.some_of(&kitchen.kit[..kitchen.kit.len().min(1)]);
            steps[place - 1].keeps_kit = keeps
                .into_iter()
                .filter(|kit| kit.count > 1)
                .map(|kit| Keep {
                    kit: kit.id,
                    count: self.between(1, kit.count / 2),
                    from: self.edge(),
                    until: until.clone(),
                    to: self.edge(),
                })
                .collect();
        }
        steps
    }

    fn batch(&mut self, kitchen: &Kitchen) -> Batch {
        let kit = match kitchen.kit.as_slice() {
            [] => None,
            kit => self.maybe(|tape| tape.pick(kit)),
        };
        let vessels = self.between(1, kit.as_ref().map_or(50, |kit| kit.count));
        let most = kit
            .as_ref()
            .and_then(|kit| kit.holds)
            .map_or(500, |holds| holds * vessels);
        Batch {
            portions: self.between(1, most),
            vessel: kit.map(|kit| kit.id),
            vessels,
            also: None,
            last: self.pick(&[Last::Whole, Last::Part]),
            volume: self.maybe(|tape| f64::from(tape.between(1, 900_000)) / 7.0),
        }
    }

    /// Divides a batch between moulds of two sizes, where there are two that no step names for itself.
    fn mixed(&mut self, batch: &mut Batch, steps: &mut [Step], kitchen: &Kitchen) {
        let named = |id: &str| {
            steps.iter().any(|step| {
                let ways = step.ways.iter().flat_map(|way| &way.uses);
                step.uses.iter().chain(ways).any(|used| used.kit == id)
                    || step.keeps_kit.iter().any(|keep| keep.kit == id)
            })
        };
        let moulds = kitchen.kit.iter();
        let moulds: Vec<&Kit> = moulds
            .filter(|kit| kit.holds.is_some() && !named(&kit.id))
            .collect();
        if let [one, other, ..] = moulds.as_slice()
            && self.chance()
        {
            let room = |kit: &Kit| kit.holds.unwrap_or(0) * kit.places();
            batch.vessel = Some(one.id.clone());
            batch.also = Some(other.id.clone());
            batch.portions = self.between(1, room(one) + room(other));
            steps[0].each = Multiple::Batch;
        }
    }

    fn dish(&mut self, place: usize, kitchen: &Kitchen, courses: &[Course]) -> Dish {
        let count = self.between(1, 5);
        let mut steps = self.steps(0, count, kitchen);
        let mut batch = self.maybe(|tape| tape.batch(kitchen));
        if let Some(batch) = &mut batch {
            self.mixed(batch, &mut steps, kitchen);
            // A time for a volume needs a batch that has one.
            for step in &mut steps {
                if let StepTime::Elapsed(work) = &mut step.time
                    && batch.volume.is_some()
                {
                    work.for_volume = self.maybe(|tape| f64::from(tape.between(1, 90_000)) / 4.0);
                }
            }
        }
        let rescues = if self.below(4) == 3 {
            let mut rescues = self.steps(count as usize, 1, kitchen);
            rescues[0].together.clear();
            rescues
        } else {
            Vec::new()
        };
        let repeats = if self.chance() {
            let first = self.below(count) as usize;
            let last = self.between(first as u32, count - 1) as usize;
            vec![Repeat {
                steps: steps[first..=last]
                    .iter()
                    .map(|step| step.id.clone())
                    .collect(),
                times: self.between(2, 5),
                gap: self.gap(true),
            }]
        } else {
            Vec::new()
        };
        Dish {
            id: self.id(place),
            name: self.name(),
            note: self.maybe(Self::name),
            course: self.pick(courses).id,
            covers: self.maybe(|tape| tape.between(1, 400)),
            spare: self.below(20),
            margin: self.minutes(0, 120),
            batches: self.maybe(|_| 1).filter(|_| batch.is_some()),
            batch,
            ingredients: self.few(0, 3, |tape, _| tape.ingredient(&steps)),
            repeats,
            rescues,
            fresh: self.fresh(),
            control: self.control(),
            waits_at: self.maybe(|tape| tape.between(0, 1000) as i32 - 200),
            steps,
        }
    }

    fn menu(&mut self) -> Menu {
        let kitchen = self.kitchen();
        let courses = self.few(1, 3, |tape, place| Course {
            id: tape.id(place),
            name: tape.name(),
            offset: Minutes(tape.below(3000) as i32 - 1000),
        });
        let larder = self.larder();
        let mut dishes = self.few(1, 3, |tape, place| tape.dish(place, &kitchen, &courses));
        // Sometimes the first step of the last dish waits for the first step of the first.
        if let [first, .., last] = dishes.as_mut_slice()
            && last.steps[0].after.is_empty()
            && last.steps.iter().all(|step| step.together.is_empty())
            && self.chance()
        {
            last.steps[0].after.push(After {
                step: format!("{}/{}", first.id, first.steps[0].id),
                gap: self.gap(false),
                from: Edge::End,
                to: Edge::Start,
            });
        }
        let day = self.date();
        let on = self.chance();
        Menu {
            id: self.id(0),
            name: self.name(),
            service: Service {
                day: if on {
                    ServiceDay::On(day)
                } else {
                    ServiceDay::InDays(self.below(30))
                },
                time: self.clock(),
            },
            covers: self.between(1, 1000),
            prep_from: self.maybe(|_| countback::time::day_after(day, -365)),
            style: self.pick(&[Style::Late, Style::Even]),
            rules: self.pick(&[None, Some(Rules::UsModelCode), Some(Rules::NorthernIreland)]),
            guests: self.few(0, 2, |tape, _| tape.guest(&dishes)),
            kitchen,
            larder,
            gelling: self.pick(&[Gelling::Linear, Gelling::SquareRoot]),
            dropped: Vec::new(),
            courses,
            dishes,
        }
    }
}
