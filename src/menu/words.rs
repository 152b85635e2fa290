//! Values of a menu in the cook's words, exactly as a menu file writes them.
//!
//! Whatever [`duration`], [`time`], [`gap`], [`hands`], [`moment`], [`service`], [`span`], [`spans`], [`days`],
//! [`temperature`], [`breadth`], [`across`],
//! [`heat`], [`amount`], [`volume`], [`ahead`], [`order_ahead`], [`density`], [`strength`], [`sugar`], [`altitude`],
//! [`price`] and [`share`] say, a menu file may say, and it is read back as the same value; a property test
//! holds them to that. [`kit`], [`after`] and [`fresh`] are for the sheet only, because a file says those things
//! in fields. A value that says nothing is an empty text there.

use std::fmt::Write as _;

use super::{
    Across, After, Ahead, Amount, ClockWait, Days, Density, Edge, Freshness, Gap, GapLeast,
    Gelling, Goal, Hands, Keep, KitUse, Leaf, Moment, Service, ServiceDay, Span, Stage, StepTime,
    Strength, Sugar, SugarMark, Temperature, Touch, Unit, Work,
};
use crate::time::{Minutes, TimeOfDay, Timelike, weekday_name};

/// How mornings are counted: "until the second morning".
pub const ORDINALS: [&str; 7] = [
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh",
];

/// Returns a length of time: `90 min` is said `1h30`.
pub fn duration(length: Minutes) -> String {
    length.to_string()
}

/// Returns a length of work, which may have seconds: `40 s`, `1 min 30 s`.
pub fn seconds(length: i64) -> String {
    let minutes = i32::try_from(length.div_euclid(60)).unwrap_or(i32::MAX);
    match (minutes, length.rem_euclid(60)) {
        (minutes, 0) => Minutes(minutes).to_string(),
        (0, seconds) => format!("{seconds} s"),
        (minutes, seconds) => format!("{} {seconds} s", Minutes(minutes)),
    }
}

/// Returns how long a step takes: `6h..7h`, `10 min + 40 s a piece`, `overnight, at least 8h`.
pub fn time(time: &StepTime) -> String {
    match time {
        StepTime::Elapsed(work) => elapsed(work),
        StepTime::Clock { until, at_least } => {
            let mut said = match until {
                ClockWait::KitchenOpens(0 | 1) => "overnight".to_owned(),
                ClockWait::KitchenOpens(mornings) => {
                    let ordinal = ORDINALS.get(*mornings as usize - 1);
                    format!("until the {} morning", ordinal.unwrap_or(&"seventh"))
                }
                ClockWait::TimeOfDay(time) => format!("until {}", clock(*time)),
            };
            if *at_least != Minutes::ZERO {
                let _ = write!(said, ", at least {}", duration(*at_least));
            }
            said
        }
    }
}

fn elapsed(work: &Work) -> String {
    let volume = work
        .for_volume
        .map(|volume| format!(" for {}", self::volume(volume)));
    let (shortest, longest) = (work.shortest, work.longest);
    let grows = [
        (work.per_piece, "piece"),
        (work.per_batch, "batch"),
        (work.per_litre, "litre"),
    ];
    let grows: Vec<_> = grows
        .into_iter()
        .filter(|&(growth, _)| growth != 0)
        .map(|(growth, of)| format!("{} a {of}", seconds(growth)))
        .collect();
    let fixed = match work.usual {
        Some(0) if shortest == 0 && longest == 0 && !grows.is_empty() && volume.is_none() => {
            return grows.join(" + ");
        }
        Some(usual) if shortest == usual && usual == longest => seconds(usual),
        Some(usual) => [shortest, usual, longest].map(seconds).join(".."),
        None => [shortest, longest].map(seconds).join(".."),
    };
    let fixed = fixed + &volume.unwrap_or_default();
    let said = std::iter::once(fixed).chain(grows);
    said.collect::<Vec<_>>().join(" + ")
}

/// Returns what a step does to the temperature of food: `held at 3 C`, `cooled from 82 C to 5 C`.
pub fn temperature(temperature: &Temperature) -> String {
    let lasting = |seconds: Option<u32>| {
        seconds.map_or_else(String::new, |it| {
            format!(" for {}", self::seconds(i64::from(it)))
        })
    };
    match *temperature {
        Temperature::Held { at } => format!("held at {}", heat(at)),
        Temperature::Cooked { to, lasting: long } => {
            format!("cooked to {}{}", heat(to), lasting(long))
        }
        Temperature::Cooled { from, to } => format!("cooled from {} to {}", heat(from), heat(to)),
        Temperature::Reheated { to, lasting: long } => {
            format!("reheated to {}{}", heat(to), lasting(long))
        }
    }
}

/// Returns a breadth of so many tenths of a millimetre: `60 mm`, `12.5 mm`.
pub fn breadth(tenths: u32) -> String {
    format!("{} mm", f64::from(tenths) / 10.0)
}

/// Returns how far across food stands: `300 x 200 mm`, `240 mm`, `ball of 90 mm`.
pub fn across(across: Across) -> String {
    match across {
        Across::Sides(one, other) => format!("{} x {}", breadth(one), breadth(other)),
        Across::Round(across) => breadth(across),
        Across::Ball(across) => format!("ball of {}", breadth(across)),
    }
}

/// Returns a gap: `straight on`, `within 20 min`, `8h..24h`, `overnight, at most 2 days`.
pub fn gap(gap: &Gap) -> String {
    match (gap.least, gap.most) {
        (GapLeast::Elapsed(least), None) => format!("at least {}", duration(least)),
        (GapLeast::Elapsed(Minutes::ZERO), Some(Minutes::ZERO)) => "straight on".to_owned(),
        (GapLeast::Elapsed(Minutes::ZERO), Some(most)) => format!("within {}", duration(most)),
        (GapLeast::Elapsed(least), Some(most)) => {
            format!("{}..{}", duration(least), duration(most))
        }
        (GapLeast::Nights(nights), most) => {
            let mut said = match nights {
                0 | 1 => "overnight".to_owned(),
                nights => format!("at least {nights} nights"),
            };
            if let Some(most) = most {
                let _ = write!(said, ", at most {}", duration(most));
            }
            said
        }
    }
}

/// Returns whose hands a step needs: `throughout`, `put on 5 min by 2, look 2 min every 30 min`, or
/// `left alone`.
pub fn hands(hands: &Hands) -> String {
    fn by(hands: u32) -> String {
        match hands {
            1 => String::new(),
            hands => format!(" by {hands}"),
        }
    }
    fn touch(what: &str, touch: Touch) -> String {
        format!("{what} {}{}", duration(touch.time), by(touch.hands))
    }
    let mut said = Vec::new();
    if hands.throughout > 0 {
        said.push(format!("throughout{}", by(hands.throughout)));
    }
    match (hands.put_on, hands.take_off) {
        (Some(on), Some(off)) if on == off => said.push(touch("each end", on)),
        (on, off) => {
            said.extend(on.map(|on| touch("put on", on)));
            said.extend(off.map(|off| touch("take off", off)));
        }
    }
    if let Some(look) = hands.look {
        let every = match look.every {
            every if every == Minutes::days(1) => "once a day".to_owned(),
            every => format!("every {}", duration(every)),
        };
        said.push(format!(
            "look {} {every}{}",
            duration(look.time),
            by(look.hands)
        ));
    }
    if hands.someone_about {
        said.push("someone about".to_owned());
    }
    if said.is_empty() {
        said.push("left alone".to_owned());
    }
    said.join(", ")
}

/// Returns the kit a step uses and keeps: `2 hob, oven at 160 C, 24 dome kept until turn-out`.
pub fn kit(uses: &[KitUse], keeps: &[Keep]) -> String {
    let counted = |count: u32, kit: &str| match count {
        1 => kit.to_owned(),
        count => format!("{count} {kit}"),
    };
    let in_use = uses.iter().map(|used| {
        let at = used.heat.map(|tenths| format!(" at {}", heat(tenths)));
        counted(used.count, &used.kit) + &at.unwrap_or_default()
    });
    let kept = keeps.iter().map(|keep| {
        let from = match keep.from {
            Edge::Start => "",
            Edge::End => " afterwards",
        };
        let to = match keep.to {
            Edge::Start => "starts",
            Edge::End => "is done",
        };
        format!(
            "{}{from} kept until {} {to}",
            counted(keep.count, &keep.kit),
            keep.until
        )
    });
    in_use.chain(kept).collect::<Vec<_>>().join(", ")
}

/// Returns what a step follows: `after steep, within 20 min; after the start of boil`.
pub fn after(afters: &[After]) -> String {
    let said = afters.iter().map(|after| {
        let from = match after.from {
            Edge::Start => "the start of ",
            Edge::End => "",
        };
        let to = match after.to {
            Edge::Start => "",
            Edge::End => "ends ",
        };
        let gap = if after.gap == Gap::default() {
            String::new()
        } else {
            format!(", {}", gap(&after.gap))
        };
        format!("{to}after {from}{}{gap}", after.step)
    });
    said.collect::<Vec<_>>().join("; ")
}

/// Returns how long food lasts: `best within 12h, keeps 24h`.
pub fn fresh(fresh: Freshness) -> String {
    let best = fresh
        .best
        .map(|best| format!("best within {}", duration(best)));
    let keeps = fresh
        .keeps
        .map(|keeps| format!("keeps {}", duration(keeps)));
    best.into_iter().chain(keeps).collect::<Vec<_>>().join(", ")
}

/// Returns a time of day: `07:05`.
pub fn clock(time: TimeOfDay) -> String {
    format!("{:02}:{:02}", time.hour(), time.minute())
}

/// Returns a moment: `06:00 on the day`, `14:00 1 day before`, `Fri 14:00`, `2026-11-27 14:00`.
pub fn moment(moment: &Moment) -> String {
    match moment {
        Moment::BeforeService(0, time) => format!("{} on the day", clock(*time)),
        Moment::BeforeService(days, time) => format!("{} {}", clock(*time), before(*days)),
        Moment::Weekday(day, time) => format!("{} {}", weekday_name(*day), clock(*time)),
        Moment::On(date, time) => format!("{date} {}", clock(*time)),
    }
}

fn before(days: u32) -> String {
    match days {
        0 => "the day".to_owned(),
        1 => "1 day before".to_owned(),
        days => format!("{days} days before"),
    }
}

/// Returns a service: `2026-11-28 19:30`, `in 2 days at 19:30`.
pub fn service(service: &Service) -> String {
    let time = clock(service.time);
    match service.day {
        ServiceDay::On(date) => format!("{date} {time}"),
        ServiceDay::InDays(1) => format!("in 1 day at {time}"),
        ServiceDay::InDays(days) => format!("in {days} days at {time}"),
    }
}

/// Returns hours of the clock face: `07:00..22:00`, and past midnight `18:00..02:00`.
pub fn span(span: &Span) -> String {
    let face = |minutes: u32| format!("{:02}:{:02}", minutes / 60, minutes % 60);
    let (from, to) = (face(span.from), span.to);
    match to {
        to if to <= 1440 => format!("{from}..{}", face(to)),
        to if to == span.from + 1440 => format!("{from}..{} next day", face(to - 1440)),
        to => format!("{from}..{}", face(to - 1440)),
    }
}

/// Returns several hours: `07:00..15:00, 16:00..20:00`.
pub fn spans(spans: &[Span]) -> String {
    spans.iter().map(span).collect::<Vec<_>>().join(", ")
}

/// Returns days: `every day`, `Mon, Tue`, `2026-11-28`, `the day, 1 day before`.
pub fn days(days: &Days) -> String {
    match days {
        Days::Every => "every day".to_owned(),
        Days::Weekdays(days) => joined(days.iter().map(|&day| weekday_name(day).to_owned())),
        Days::Dates(dates) => joined(dates.iter().map(ToString::to_string)),
        Days::BeforeService(days) => joined(days.iter().map(|&days| before(days))),
    }
}

fn joined(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

/// Returns an oven's heat from tenths of a degree Celsius: `160 C`.
pub fn heat(tenths: i32) -> String {
    let sign = if tenths < 0 { "-" } else { "" };
    match (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10) {
        (degrees, 0) => format!("{sign}{degrees} C"),
        (degrees, tenth) => format!("{sign}{degrees}.{tenth} C"),
    }
}

/// Returns the reading that ends a step: `5 C in 3 C`, `1200 ml`.
pub fn goal(goal: Goal) -> String {
    match goal {
        Goal::Heat {
            tenths,
            around: Some(around),
        } => format!("{} in {}", heat(tenths), heat(around)),
        Goal::Heat { tenths, .. } => heat(tenths),
        Goal::Volume(millilitres) => format!("{millilitres} ml"),
        Goal::Weight(grams) => format!("{grams} g"),
    }
}

/// Returns amounts that cannot be added, side by side: `40 g and 1 bunch`.
pub fn amounts(amounts: &[Amount]) -> String {
    let amounts: Vec<String> = amounts.iter().map(amount).collect();
    amounts.join(" and ")
}

/// Returns an amount: `1.2 kg`, `½ metric tsp`, `3 leaves`, `to taste`.
pub fn amount(amount: &Amount) -> String {
    match amount {
        Amount::ToTaste => "to taste".to_owned(),
        Amount::Measured { number, unit } => {
            let number = self::number(*number, !decimal(unit));
            match self::unit(unit) {
                "" => number,
                unit => format!("{number} {unit}"),
            }
        }
    }
}

/// Returns a volume: `3 l`, `750 ml`.
pub fn volume(millilitres: f64) -> String {
    // In litres only where that reads back as the same number.
    let litres = millilitres / 1000.0;
    if litres >= 1.0 && (litres * 1000.0).to_bits() == millilitres.to_bits() {
        format!("{litres} l")
    } else {
        format!("{millilitres} ml")
    }
}

/// Returns what has to be done ahead: `soak 12h`.
pub fn ahead(ahead: &Ahead) -> String {
    format!("{} {}", ahead.what, duration(ahead.time))
}

/// Returns how far ahead something is ordered: `3 days ahead`.
pub fn order_ahead(length: Minutes) -> String {
    format!("{} ahead", duration(length))
}

/// Returns a density with who says so: `1.03 g/ml, the dairy's sheet`.
pub fn density(density: &Density) -> String {
    format!("{} g/ml, {}", density.grams_per_millilitre, density.source)
}

/// Returns a strength of gelatine: `200 bloom`, `silver leaf`.
pub fn strength(strength: Strength) -> String {
    match strength {
        Strength::Bloom(bloom) => format!("{bloom} bloom"),
        Strength::Leaf(leaf) => format!("{} leaf", leaf_grade(leaf)),
    }
}

/// Returns a grade of leaf gelatine.
pub fn leaf_grade(leaf: Leaf) -> &'static str {
    match leaf {
        Leaf::Bronze => "bronze",
        Leaf::Silver => "silver",
        Leaf::Gold => "gold",
        Leaf::Platinum => "platinum",
    }
}

/// Returns the law by which gelatines stand in for each other, named by what stays the same.
pub fn gelling(gelling: Gelling) -> &'static str {
    match gelling {
        Gelling::Linear => "the linear law (mass × bloom)",
        Gelling::SquareRoot => "the square-root law (mass × √bloom)",
    }
}

/// Returns how far a syrup is boiled: `20 to 65 Brix`, `soft ball`.
pub fn sugar(mark: &SugarMark) -> String {
    let from = mark.from.map(|from| format!("{from} to "));
    let from = from.unwrap_or_default();
    match mark.to {
        Sugar::Brix(brix) => format!("{from}{brix} Brix"),
        Sugar::Stage(stage) => format!("{from}{}", self::stage(stage)),
    }
}

/// Every stage of boiled sugar by its name, from the thinnest up.
pub const STAGES: [(&str, Stage); 10] = [
    ("thread", Stage::Thread),
    ("soft ball", Stage::SoftBall),
    ("firm ball", Stage::FirmBall),
    ("hard ball", Stage::HardBall),
    ("soft crack", Stage::SoftCrack),
    ("hard crack", Stage::HardCrack),
    ("hard candy", Stage::HardCandy),
    ("light caramel", Stage::LightCaramel),
    ("medium caramel", Stage::MediumCaramel),
    ("dark caramel", Stage::DarkCaramel),
];

/// Returns the name of a stage of boiled sugar.
pub fn stage(stage: Stage) -> &'static str {
    let found = STAGES.iter().find(|(_, known)| *known == stage);
    found.map_or("", |(name, _)| name)
}

/// Returns a height above the sea: `350 m`.
pub fn altitude(metres: i32) -> String {
    format!("{metres} m")
}

/// Returns a price in the currency from its smallest coin: `12.50`.
pub fn price(coins: u64) -> String {
    format!("{}.{:02}", coins / 100, coins % 100)
}

/// Returns a share from thousandths: `18 %`, `12.5 %`.
pub fn share(thousandths: u32) -> String {
    match (thousandths / 10, thousandths % 10) {
        (percent, 0) => format!("{percent} %"),
        (percent, tenth) => format!("{percent}.{tenth} %"),
    }
}

/// Returns whether a unit is always divided by ten, never in halves and quarters.
fn decimal(unit: &Unit) -> bool {
    matches!(
        unit,
        Unit::Milligram
            | Unit::Gram
            | Unit::Kilogram
            | Unit::Millilitre
            | Unit::Centilitre
            | Unit::Decilitre
            | Unit::Litre
    )
}

/// The fractions that have a character of their own.
pub const FRACTIONS: [(char, f64); 9] = [
    ('½', 1.0 / 2.0),
    ('¼', 1.0 / 4.0),
    ('¾', 3.0 / 4.0),
    ('⅓', 1.0 / 3.0),
    ('⅔', 2.0 / 3.0),
    ('⅛', 1.0 / 8.0),
    ('⅜', 3.0 / 8.0),
    ('⅝', 5.0 / 8.0),
    ('⅞', 7.0 / 8.0),
];

/// Returns a number that reads back exactly, with a fraction where it is one.
fn number(number: f64, fractions: bool) -> String {
    let whole = number.trunc();
    let fraction = FRACTIONS
        .iter()
        .find(|&&(_, part)| fractions && (whole + part).to_bits() == number.to_bits());
    match fraction {
        Some((sign, _)) if whole == 0.0 => sign.to_string(),
        Some((sign, _)) => format!("{whole}{sign}"),
        None => number.to_string(),
    }
}

/// Returns a unit by its short full name: `kg`, `US cup`; for things counted, their word.
pub fn unit(unit: &Unit) -> &str {
    match unit {
        Unit::Milligram => "mg",
        Unit::Gram => "g",
        Unit::Kilogram => "kg",
        Unit::Ounce => "oz",
        Unit::Pound => "lb",
        Unit::TroyOunce => "troy oz",
        Unit::TroyPound => "troy lb",
        Unit::Drachm => "drachm",
        Unit::Dram => "dram",
        Unit::LabelOunce => "label oz",
        Unit::Grain => "grain",
        Unit::Millilitre => "ml",
        Unit::Centilitre => "cl",
        Unit::Decilitre => "dl",
        Unit::Litre => "l",
        Unit::MetricTeaspoon => "metric tsp",
        Unit::MetricTablespoon => "metric tbsp",
        Unit::AustralianTablespoon => "Australian tbsp",
        Unit::MetricCup => "metric cup",
        Unit::LabelTeaspoon => "label tsp",
        Unit::LabelTablespoon => "label tbsp",
        Unit::LabelFluidOunce => "label fl oz",
        Unit::LabelCup => "label cup",
        Unit::UsTeaspoon => "US tsp",
        Unit::UsTablespoon => "US tbsp",
        Unit::UsFluidDram => "US fl dram",
        Unit::UsFluidOunce => "US fl oz",
        Unit::UsGill => "US gill",
        Unit::UsCup => "US cup",
        Unit::UsPint => "US pint",
        Unit::UsQuart => "US quart",
        Unit::UsGallon => "US gallon",
        Unit::UsDryPint => "US dry pint",
        Unit::UsDryQuart => "US dry quart",
        Unit::UsDryGallon => "US dry gallon",
        Unit::UkTablespoon => "UK tbsp",
        Unit::ImperialFluidDrachm => "imperial fl drachm",
        Unit::ImperialFluidOunce => "imperial fl oz",
        Unit::ImperialGill => "imperial gill",
        Unit::ImperialPint => "imperial pint",
        Unit::ImperialQuart => "imperial quart",
        Unit::ImperialGallon => "imperial gallon",
        Unit::WinePint => "wine pint",
        Unit::WineQuart => "wine quart",
        Unit::WineGallon => "wine gallon",
        Unit::AlePint => "ale pint",
        Unit::AleQuart => "ale quart",
        Unit::AleGallon => "ale gallon",
        Unit::CornGallon => "corn gallon",
        Unit::Count(word) => word,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_says_nothing_is_empty_except_for_hands() {
        assert_eq!(hands(&Hands::default()), "left alone");
        assert_eq!(kit(&[], &[]), "");
        assert_eq!(after(&[]), "");
        assert_eq!(fresh(Freshness::default()), "");
    }

    #[test]
    fn kit_and_order_are_said_in_one_line() {
        let used = KitUse {
            kit: "oven".into(),
            count: 1,
            heat: Some(1625),
        };
        let keep = Keep {
            kit: "dome".into(),
            count: 24,
            from: Edge::Start,
            until: "turn-out".into(),
            to: Edge::End,
        };
        assert_eq!(
            kit(&[used], &[keep]),
            "oven at 162.5 C, 24 dome kept until turn-out is done"
        );
        let straight = After {
            step: "steep".into(),
            gap: Gap {
                least: GapLeast::Elapsed(Minutes::ZERO),
                most: Some(Minutes::ZERO),
            },
            from: Edge::End,
            to: Edge::Start,
        };
        let loose = After {
            step: "boil".into(),
            gap: Gap::default(),
            from: Edge::Start,
            to: Edge::Start,
        };
        assert_eq!(
            after(&[straight, loose]),
            "after steep, straight on; after the start of boil"
        );
    }

    #[test]
    fn numbers_are_exact_and_halves_are_halves() {
        assert_eq!(number(1.5, true), "1½");
        assert_eq!(number(1.5, false), "1.5");
        assert_eq!(number(0.1 + 0.2, true), "0.30000000000000004");
        assert_eq!(number(0.0, true), "0");
    }
}
