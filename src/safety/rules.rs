//! The rules of countries as data: limits, cooling, time out of the cold, keeping days, reheating.
//!
//! Each set is dated and each rule has its source. They are summaries for planning; [`super::DEFERENCE`] goes with
//! all of them. A figure that is advice and not law is marked so ([`Weight::Advice`]), and where a country sets no
//! figure there is none here either: the house's own plan does.
//!
//! Read from copies of the laws: US model code (FDA Food Code 2017, as adopted by Delaware, 16 Del. Admin. Code §3),
//! England (SI 2013/2996 Schedule 4 and its parallel texts in Wales, W.S.I. 2006/31, and Northern Ireland, S.R.
//! 2006/3), Australia (Food Standards Code, Standard 3.2.2, and guidance of FSANZ on the 2-hour/4-hour rule, 2019).
//! From memory: all of Scotland (S.S.I. 2006/3), New Zealand's template plans, and what is marked so at its figure.

use crate::menu::Rules;
use crate::time::Date;

/// Whether a figure is law or advice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// The law, or the model of one.
    Law,
    /// Advice of an authority, or common practice.
    Advice,
}

/// A temperature that food is kept at or below, or at or above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// °C.
    pub degrees: f64,
    /// Where it stands.
    pub source: &'static str,
    /// Law or advice.
    pub weight: Weight,
}

/// One stretch of cooling with a clock of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// The clock starts when the food passes this, or at once where it begins colder, in °C.
    pub from: f64,
    /// It stops here.
    pub to: f64,
    /// The most it may show, in minutes.
    pub within: f64,
}

/// How food must be cooled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Legs {
    /// Every one of them holds.
    pub legs: &'static [Leg],
    /// Where it stands.
    pub source: &'static str,
    /// Law or advice.
    pub weight: Weight,
}

/// How long food may be between the cold and the hot limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Out {
    /// So many minutes, then it is thrown away; longer where it began cold and stayed below a temperature.
    Written {
        /// The most.
        most: i32,
        /// The most where it began cold and stayed cool.
        cool: i32,
        /// Cool: at or below this, in °C.
        below: f64,
    },
    /// One single period of less than so many minutes, from the cold or from the hot side.
    Single {
        /// Out of the cold: less than this.
        cold: i32,
        /// Below the hot limit: less than this.
        hot: i32,
    },
    /// All periods added up.
    Added {
        /// From here on it may not go back into the cold.
        use_now: i32,
        /// Beyond this it is thrown away.
        discard: i32,
    },
}

/// How many days food is kept in the cold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Keeping {
    /// Calendar days, the day of preparation being the first.
    pub days: i64,
    /// Where it stands.
    pub source: &'static str,
}

/// How food that was cold is made hot again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reheating {
    /// Any of these will do: °C, for so many seconds.
    pub points: &'static [(f64, u32)],
    /// In at most so many minutes.
    pub within: Option<i32>,
    /// Where it stands.
    pub source: &'static str,
    /// Law or advice.
    pub weight: Weight,
}

/// The rules of one country.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RuleSet {
    /// Which.
    pub rules: Rules,
    /// As the command line takes it.
    pub key: &'static str,
    /// As the sheet says it.
    pub name: &'static str,
    /// Which edition.
    pub dated: &'static str,
    /// Cold holding: at or below.
    pub cold: Limit,
    /// Hot holding: at or above.
    pub hot: Limit,
    /// Cooling of what was cooked.
    pub cooling: Legs,
    /// Cooling of what was made from things at the temperature of the room, where that is another rule.
    pub ambient: Option<Legs>,
    /// Time between the limits.
    pub out: Out,
    /// Where that stands.
    pub out_source: &'static str,
    /// Keeping days, where there is a figure.
    pub keeping: Option<Keeping>,
    /// Reheating.
    pub reheating: Option<Reheating>,
    /// Raw egg, in a sentence.
    pub raw_egg: &'static str,
    /// What else to know of this set.
    pub remark: &'static str,
}

impl RuleSet {
    /// Returns whether food at this temperature is held cold.
    pub fn holds_cold(&self, degrees: f64) -> bool {
        degrees <= self.cold.degrees
    }

    /// Returns whether food at this temperature is held hot.
    pub fn holds_hot(&self, degrees: f64) -> bool {
        degrees >= self.hot.degrees
    }

    /// Returns whether food at this temperature is between the limits.
    pub fn is_out(&self, degrees: f64) -> bool {
        !self.holds_cold(degrees) && !self.holds_hot(degrees)
    }
}

impl Leg {
    /// Returns whether a clock that shows so many minutes keeps it.
    pub fn is_kept(&self, minutes: f64) -> bool {
        // A second is allowed for the arithmetic, none for the cook.
        minutes <= self.within + 1.0 / 60.0
    }
}

impl Legs {
    /// Returns every leg that food does not meet which begins at `from` °C and is at a temperature after so many
    /// minutes, with how long it took; `None` as a time is never.
    pub fn failed(
        &self,
        from: f64,
        minutes_to: impl Fn(f64) -> Option<f64>,
    ) -> Vec<(Leg, Option<f64>)> {
        let mut failed = Vec::new();
        for leg in self.legs {
            if from <= leg.to {
                continue;
            }
            let began = if from <= leg.from {
                Some(0.0)
            } else {
                minutes_to(leg.from)
            };
            let took = minutes_to(leg.to).zip(began).map(|(to, began)| to - began);
            if took.is_none_or(|took| !leg.is_kept(took)) {
                failed.push((*leg, took));
            }
        }
        failed
    }
}

impl Reheating {
    /// Returns whether it was hot enough for long enough; `None` where nobody has said how long.
    pub fn is_met(&self, to: f64, lasting: Option<u32>) -> Option<bool> {
        let hot = self.points.iter().filter(|(degrees, _)| to >= *degrees);
        let needed = hot.map(|&(_, seconds)| seconds).min();
        match (needed, lasting) {
            (None, _) => Some(false),
            (Some(0), _) => Some(true),
            (Some(_), None) => None,
            (Some(needed), Some(lasting)) => Some(lasting >= needed),
        }
    }
}

const fn leg(from: f64, to: f64, within: f64) -> Leg {
    Leg { from, to, within }
}

/// Every set, the ones of the command line's `--rules`.
pub const SETS: &[RuleSet] = &[US, ENGLAND, WALES, SCOTLAND, NORTHERN_IRELAND, AUSTRALIA];

/// Returns the set of these rules.
pub fn set_of(rules: Rules) -> &'static RuleSet {
    match rules {
        Rules::UsModelCode => &US,
        Rules::England => &ENGLAND,
        Rules::Wales => &WALES,
        Rules::Scotland => &SCOTLAND,
        Rules::NorthernIreland => &NORTHERN_IRELAND,
        Rules::AustraliaNewZealand => &AUSTRALIA,
    }
}

/// Returns the sets that a menu is held against where it names none: the three that differ most.
pub fn unnamed() -> [&'static RuleSet; 3] {
    [&US, &ENGLAND, &AUSTRALIA]
}

/// The US model code.
pub const US: RuleSet = RuleSet {
    rules: Rules::UsModelCode,
    key: "us",
    name: "US model code",
    dated: "FDA Food Code 2017, read 2026; states adopt and change it",
    cold: Limit {
        degrees: 5.0,
        source: "FDA Food Code §3-501.16",
        weight: Weight::Law,
    },
    hot: Limit {
        degrees: 57.0,
        source: "FDA Food Code §3-501.16",
        weight: Weight::Law,
    },
    // The second is six hours in all, not a clock of four hours of its own, as school texts have it.
    cooling: Legs {
        legs: &[leg(57.0, 21.0, 120.0), leg(57.0, 5.0, 360.0)],
        source: "FDA Food Code §3-501.14(A)",
        weight: Weight::Law,
    },
    ambient: Some(Legs {
        legs: &[leg(57.0, 5.0, 240.0)],
        source: "FDA Food Code §3-501.14(B)",
        weight: Weight::Law,
    }),
    out: Out::Written {
        most: 240,
        cool: 360,
        below: 21.0,
    },
    out_source: "FDA Food Code §3-501.19",
    keeping: Some(Keeping {
        days: 7,
        source: "FDA Food Code §3-501.17",
    }),
    reheating: Some(Reheating {
        points: &[(74.0, 15)],
        within: Some(120),
        source: "FDA Food Code §3-403.11",
        weight: Weight::Law,
    }),
    raw_egg: "raw egg is replaced by pasteurised in what is not cooked through, unless guests are told (§3-302.13, §3-401.11); for highly susceptible guests always (§3-801.11)",
    remark: "time as a control needs a written procedure and a time marked on the food; unmarked food is thrown away",
};

/// England.
pub const ENGLAND: RuleSet = RuleSet {
    rules: Rules::England,
    key: "england",
    name: "England",
    dated: "SI 2013/2996 Schedule 4, read 2026",
    cold: Limit {
        degrees: 8.0,
        source: "SI 2013/2996 Sch. 4 para 2",
        weight: Weight::Law,
    },
    hot: Limit {
        degrees: 63.0,
        source: "SI 2013/2996 Sch. 4 para 6",
        weight: Weight::Law,
    },
    // The law says as quickly as possible; councils and the trade say ninety minutes.
    cooling: Legs {
        legs: &[leg(63.0, 8.0, 90.0)],
        source: "advice of councils (East Devon DC, temperature control guide); the law: as quickly as possible",
        weight: Weight::Advice,
    },
    ambient: None,
    out: Out::Single {
        cold: 240,
        hot: 120,
    },
    out_source: "SI 2013/2996 Sch. 4 paras 5 and 7",
    keeping: None,
    reheating: Some(Reheating {
        points: &[(70.0, 120), (75.0, 30), (80.0, 6)],
        within: None,
        source: "core temperatures of the Food Standards Agency",
        weight: Weight::Advice,
    }),
    raw_egg: "raw or soft egg for the vulnerable only where the hens' eggs are Lion-coded or Laid in Britain (FSA 2017, 2021)",
    remark: "the law sets 8 °C; advice is a fridge at 0 to 5 °C",
};

/// Wales: the figures of England, in a law of its own.
pub const WALES: RuleSet = RuleSet {
    rules: Rules::Wales,
    key: "wales",
    name: "Wales",
    dated: "W.S.I. 2006/31 Schedule 4, read 2026",
    cold: Limit {
        source: "W.S.I. 2006/31 Sch. 4 para 2",
        ..ENGLAND.cold
    },
    hot: Limit {
        source: "W.S.I. 2006/31 Sch. 4 para 6",
        ..ENGLAND.hot
    },
    out_source: "W.S.I. 2006/31 Sch. 4 paras 5 and 7",
    ..ENGLAND
};

/// Northern Ireland: the figures of England, in a law of its own.
pub const NORTHERN_IRELAND: RuleSet = RuleSet {
    rules: Rules::NorthernIreland,
    key: "northern-ireland",
    name: "Northern Ireland",
    dated: "S.R. 2006/3 Schedule 4, read 2026",
    cold: Limit {
        source: "S.R. 2006/3 Sch. 4 para 2",
        ..ENGLAND.cold
    },
    hot: Limit {
        source: "S.R. 2006/3 Sch. 4 para 6",
        ..ENGLAND.hot
    },
    out_source: "S.R. 2006/3 Sch. 4 paras 5 and 7",
    ..ENGLAND
};

/// Scotland: no figure for the cold in law, and one for reheating.
pub const SCOTLAND: RuleSet = RuleSet {
    rules: Rules::Scotland,
    key: "scotland",
    name: "Scotland",
    dated: "S.S.I. 2006/3 Schedule 4, from memory",
    cold: Limit {
        source: "common practice; the law names a refrigerator or a cool ventilated place and no figure (S.S.I. 2006/3 Sch. 4, from memory)",
        weight: Weight::Advice,
        ..ENGLAND.cold
    },
    hot: Limit {
        source: "S.S.I. 2006/3 Sch. 4, from memory",
        ..ENGLAND.hot
    },
    out_source: "common practice after the rule of England; the law of Scotland names no period (from memory)",
    reheating: Some(Reheating {
        points: &[(82.0, 0)],
        within: None,
        source: "S.S.I. 2006/3 Sch. 4, from memory",
        weight: Weight::Law,
    }),
    remark: "the law sets no figure for the cold; 8 °C is used here as in England, and a fridge at 0 to 5 °C is advised",
    ..ENGLAND
};

/// Australia, and near enough New Zealand.
pub const AUSTRALIA: RuleSet = RuleSet {
    rules: Rules::AustraliaNewZealand,
    key: "anz",
    name: "Australia and New Zealand",
    dated: "Food Standards Code, Standard 3.2.2, read 2026; New Zealand has plans of its own with like figures (from memory)",
    cold: Limit {
        degrees: 5.0,
        source: "Standard 3.2.2 cl. 6 and 8",
        weight: Weight::Law,
    },
    hot: Limit {
        degrees: 60.0,
        source: "Standard 3.2.2 cl. 6 and 8",
        weight: Weight::Law,
    },
    // Two clocks: the second begins at 21 °C.
    cooling: Legs {
        legs: &[leg(60.0, 21.0, 120.0), leg(21.0, 5.0, 240.0)],
        source: "Standard 3.2.2 cl. 7(3)",
        weight: Weight::Law,
    },
    ambient: None,
    out: Out::Added {
        use_now: 120,
        discard: 240,
    },
    out_source: "FSANZ guidance 2019, 2-hour/4-hour rule",
    keeping: None,
    reheating: Some(Reheating {
        points: &[(60.0, 0)],
        within: None,
        source: "Standard 3.2.2 cl. 7(4)",
        weight: Weight::Law,
    }),
    raw_egg: "raw egg dishes are kept at 5 °C or below and are not for the vulnerable (advice, from memory)",
    remark: "the 2-hour/4-hour rule is one way to show that time out of the cold is safe; other ways need proof of their own",
};

/// Dairy that is to be pasteurised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dairy {
    /// Milk.
    Milk,
    /// With ten parts of fat in a hundred or more, or with sugar.
    Rich,
    /// With eggs and sugar, drunk.
    Eggnog,
    /// A mix for ices.
    IceMix,
}

/// Returns whether a dairy food kept at `degrees` °C for `seconds` is pasteurised.
///
/// 21 CFR 1240.61(b) and (c); for ices 7 CFR 58.635. Rich milk asks for 3 °C more in every line (note 1 there).
pub fn pasteurised(dairy: Dairy, degrees: f64, seconds: f64) -> bool {
    const MILK: &[(f64, f64)] = &[
        (63.0, 1800.0),
        (72.0, 15.0),
        (89.0, 1.0),
        (90.0, 0.5),
        (94.0, 0.1),
        (96.0, 0.05),
        (100.0, 0.01),
    ];
    const EGGNOG: &[(f64, f64)] = &[(69.0, 1800.0), (80.0, 25.0), (83.0, 15.0)];
    const ICE: &[(f64, f64)] = &[(68.0, 1800.0), (79.0, 25.0)];
    let (table, more) = match dairy {
        Dairy::Milk => (MILK, 0.0),
        Dairy::Rich => (MILK, 3.0),
        Dairy::Eggnog => (EGGNOG, 0.0),
        Dairy::IceMix => (ICE, 0.0),
    };
    table
        .iter()
        .any(|&(at, lasting)| degrees >= at + more && seconds >= lasting)
}

/// Returns whether egg that is mixed and held is cooked: 68 °C for 17 s (FDA Food Code §3-401.11(A)(2), from memory; 15 s
/// in editions before 2017).
pub fn egg_cooked(degrees: f64, seconds: f64) -> bool {
    degrees >= 68.0 && seconds >= 17.0
}

/// Returns which day of its keeping a day is, the day of preparation being the first, less the whole days frozen.
///
/// By the calendar, whatever the hour of preparation (FDA Food Code §3-501.17; days before freezing count after
/// thawing: Minn. R. 4626.0400).
pub fn day_of_keeping(made: Date, day: Date, frozen: i64) -> i64 {
    (day - made).num_days() + 1 - frozen.max(0)
}

/// Returns the last day on which food may be used, by the same count.
pub fn last_day(keeping: Keeping, made: Date, frozen: i64) -> Option<Date> {
    let days = u64::try_from(keeping.days - 1 + frozen.max(0)).ok()?;
    made.iter_days().nth(usize::try_from(days).ok()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight fall between points of (minute, °C).
    fn falls(points: &[(f64, f64)]) -> impl Fn(f64) -> Option<f64> + '_ {
        move |goal| {
            points.windows(2).find_map(|pair| {
                let ((from, high), (to, low)) = (pair[0], pair[1]);
                (high >= goal && low <= goal)
                    .then(|| from + (to - from) * (high - goal) / (high - low).max(1e-9))
            })
        }
    }

    fn passes(set: &RuleSet, points: &[(f64, f64)]) -> bool {
        set.cooling.failed(points[0].1, falls(points)).is_empty()
    }

    #[test]
    fn sets_differ_where_the_laws_do() {
        // Exactly two hours to 21 °C passes, a minute more does not (FDA Food Code §3-501.14(A)).
        let fall = |first: f64| [(0.0, 57.0), (first, 21.0), (300.0, 5.0)];
        assert!(passes(&US, &fall(120.0)));
        assert!(!passes(&US, &fall(121.0)));
        // Half an hour to 21 °C leaves five and a half for the rest there, but four in Australia (cl. 7(3)).
        let slow = [(0.0, 57.0), (30.0, 21.0), (360.0, 5.0)];
        assert!(passes(&US, &slow));
        assert!(!passes(&AUSTRALIA, &slow));
        assert!(!passes(&US, &[(0.0, 57.0), (30.0, 21.0), (361.0, 5.0)]));
        assert!(passes(
            &AUSTRALIA,
            &[(0.0, 60.0), (120.0, 21.0), (360.0, 5.0)]
        ));
        assert!(!passes(
            &AUSTRALIA,
            &[(0.0, 60.0), (120.0, 21.0), (361.0, 5.0)]
        ));
        // A fridge at 7.5 °C is lawful in England alone, one at 5 everywhere.
        let cold = |degrees| {
            SETS.iter()
                .map(move |set| (set.key, set.holds_cold(degrees)))
        };
        assert!(cold(5.0).all(|(_, held)| held));
        for (key, held) in cold(7.5) {
            assert_eq!(held, !["us", "anz"].contains(&key), "{key}");
        }
        // Held at 58 °C is hot in the US alone.
        for set in SETS {
            assert_eq!(set.holds_hot(58.0), set.key == "us", "{}", set.key);
            assert_eq!(set.holds_hot(60.0), ["us", "anz"].contains(&set.key));
            assert!(set.holds_hot(63.0));
        }
    }

    #[test]
    fn a_clock_starts_where_the_food_passes_its_beginning() {
        // From 85 °C with an hour before it passes 57: the hour does not count.
        let fall = [(0.0, 85.0), (60.0, 57.0), (180.0, 21.0), (420.0, 5.0)];
        assert!(passes(&US, &fall));
        let late = [(0.0, 85.0), (60.0, 57.0), (181.0, 21.0), (420.0, 5.0)];
        let failed = US.cooling.failed(85.0, falls(&late));
        assert_eq!(failed.len(), 1);
        assert!(failed[0].1.is_some_and(|took| (took - 121.0).abs() < 1e-9));
        // What begins at 20 °C has the second leg alone, from its beginning.
        let begun = [(0.0, 20.0), (240.0, 5.0)];
        assert!(passes(&AUSTRALIA, &begun));
        // What never gets there fails.
        assert!(!passes(&US, &[(0.0, 57.0), (60.0, 21.0), (300.0, 6.0)]));
    }

    #[test]
    fn pasteurised_is_what_the_tables_say() {
        // 21 CFR 1240.61(b), (c); 7 CFR 58.635.
        let cases = [
            (Dairy::Milk, 63.0, 1800.0, true),
            (Dairy::Milk, 63.0, 1799.0, false),
            (Dairy::Milk, 72.0, 15.0, true),
            (Dairy::Milk, 71.9, 15.0, false),
            (Dairy::Milk, 100.0, 0.01, true),
            (Dairy::Rich, 72.0, 15.0, false),
            (Dairy::Rich, 75.0, 15.0, true),
            (Dairy::Rich, 66.0, 1800.0, true),
            (Dairy::Eggnog, 80.0, 25.0, true),
            (Dairy::Eggnog, 80.0, 15.0, false),
            (Dairy::Eggnog, 83.0, 15.0, true),
            (Dairy::IceMix, 79.0, 25.0, true),
            (Dairy::IceMix, 68.0, 600.0, false),
        ];
        for (dairy, degrees, seconds, wanted) in cases {
            assert_eq!(
                pasteurised(dairy, degrees, seconds),
                wanted,
                "{dairy:?} {degrees} {seconds}"
            );
        }
        assert!(egg_cooked(68.0, 17.0) && !egg_cooked(67.9, 60.0) && !egg_cooked(68.0, 16.0));
    }

    #[test]
    fn the_day_it_is_made_is_the_first() {
        let date = |month, day| Date::from_ymd_opt(2026, month, day).unwrap_or_default();
        let keeping = Keeping {
            days: 7,
            source: "",
        };
        // Made on 1 April: used or thrown away by 7 April (Southern Nevada Health District).
        assert_eq!(last_day(keeping, date(4, 1), 0), Some(date(4, 7)));
        assert_eq!(day_of_keeping(date(4, 1), date(4, 7), 0), 7);
        // Cooked on 1 June and used in a dish on the 3rd: still 7 June, by its oldest part.
        assert_eq!(last_day(keeping, date(6, 1), 0), Some(date(6, 7)));
        // Two days, then ten frozen: five days are left after thawing.
        assert_eq!(last_day(keeping, date(4, 1), 10), Some(date(4, 17)));
        assert_eq!(day_of_keeping(date(4, 1), date(4, 17), 10), 7);
        // Over the end of a month and a leap day.
        let leap = Date::from_ymd_opt(2028, 2, 26).unwrap_or_default();
        assert_eq!(last_day(keeping, leap, 0), Date::from_ymd_opt(2028, 3, 3));
    }

    #[test]
    fn reheating_needs_its_seconds_said() {
        let met = |set: &RuleSet, to, lasting| set.reheating.map(|it| it.is_met(to, lasting));
        assert_eq!(met(&US, 74.0, Some(15)), Some(Some(true)));
        assert_eq!(met(&US, 74.0, Some(14)), Some(Some(false)));
        assert_eq!(met(&US, 74.0, None), Some(None));
        assert_eq!(met(&US, 73.0, Some(600)), Some(Some(false)));
        assert_eq!(met(&ENGLAND, 70.0, Some(120)), Some(Some(true)));
        assert_eq!(met(&ENGLAND, 76.0, Some(30)), Some(Some(true)));
        assert_eq!(met(&SCOTLAND, 81.0, Some(600)), Some(Some(false)));
        assert_eq!(met(&AUSTRALIA, 60.0, None), Some(Some(true)));
    }
}
