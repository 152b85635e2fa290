//! The countries, each with its figures and where they stand. A set that differs in a few is written from another.

use super::{Keeping, Leg, Legs, Limit, Out, Reheating, RuleSet, Weight};
use crate::menu::Rules;

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
    not_known_hot: Some(Legs {
        legs: &[leg(57.0, 21.0, 120.0), leg(57.0, 5.0, 240.0)],
        source: "FDA Food Code §3-501.14(A) and (B), the stricter of each, where it is not known to have been hot",
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
    not_known_hot: None,
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
    not_known_hot: None,
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
