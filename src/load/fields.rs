//! Every field a file can have, with an example of each: the one table that readers, messages and the tested
//! example share.

/// One kind of bracket: its name, and its fields, each with an example.
type Bracket = (&'static str, &'static [(&'static str, &'static str)]);

/// Every bracket a file can hold, and every field of each.
pub(super) const FIELDS: &[Bracket] = &[
    (
        "Menu",
        &[
            ("id", "\"lantern-supper\""),
            ("name", "\"Lantern supper\""),
            ("service", "\"2026-11-28 19:30\""),
            ("covers", "96"),
            ("style", "Late"),
            ("prep_from", "\"2026-11-25\""),
            ("rules", "England"),
            (
                "guests",
                "[Guest(name: \"table 4, seat 2\", avoids: [Milk])]",
            ),
            ("kitchen", "File(\"kitchen.ron\")"),
            ("larder", "File(\"larder.ron\")"),
            ("gelling", "Linear"),
            (
                "courses",
                "[Course(id: \"sweet\", name: \"Sweet course\", at: \"19:30\")]",
            ),
            ("dishes", "[Serve(dish: File(\"dish.ron\"))]"),
        ],
    ),
    (
        "Course",
        &[
            ("id", "\"sweet\""),
            ("name", "\"Sweet course\""),
            ("at", "\"19:30\""),
        ],
    ),
    (
        "Serve",
        &[
            ("dish", "File(\"dish.ron\")"),
            ("course", "\"sweet\""),
            ("covers", "90"),
            ("spare", "4"),
            ("batches", "3"),
            ("margin", "\"30 min\""),
        ],
    ),
    (
        "Kitchen",
        &[
            ("name", "\"Quay kitchen\""),
            ("zone", "\"Europe/London\""),
            ("altitude", "\"350 m\""),
            ("open", "[Open(days: \"every day\", at: \"07:00..22:00\")]"),
            (
                "watched",
                "[Watch(days: \"every day\", at: \"22:00..07:00\")]",
            ),
            ("cooks", "[Cook(name: \"first pair of hands\")]"),
            ("stations", "[Station(id: \"stove\", name: \"Stove\")]"),
            ("kit", "[Kit(id: \"hob\", name: \"Hob ring\", count: 4)]"),
        ],
    ),
    (
        "Open",
        &[("days", "\"every day\""), ("at", "\"07:00..22:00\"")],
    ),
    (
        "Watch",
        &[("days", "\"every day\""), ("at", "\"22:00..07:00\"")],
    ),
    (
        "Shift",
        &[("days", "\"Mon..Fri\""), ("at", "\"07:00..15:00\"")],
    ),
    (
        "Cook",
        &[
            ("name", "\"first pair of hands\""),
            ("skills", "[\"sugar\"]"),
            (
                "shifts",
                "[Shift(days: \"every day\", at: \"07:00..15:00\")]",
            ),
            (
                "overtime",
                "[Shift(days: \"1 day before\", at: \"15:00..17:00\")]",
            ),
            (
                "away",
                "[Shift(days: \"2026-11-27\", at: \"07:00..15:00\")]",
            ),
        ],
    ),
    ("Station", &[("id", "\"stove\""), ("name", "\"Stove\"")]),
    (
        "Kit",
        &[
            ("id", "\"hob\""),
            ("name", "\"Hob ring\""),
            ("count", "4"),
            ("holds", "12"),
            ("oven", "Oven(change: \"20 min\")"),
            ("cold", "Cold(at: \"3 C\", by: Still)"),
            (
                "taken",
                "[Taken(days: \"every day\", at: \"03:00..08:00\")]",
            ),
        ],
    ),
    ("Oven", &[("change", "\"20 min\""), ("shelves", "3")]),
    ("Cold", &[("at", "\"3 C\""), ("by", "Still")]),
    (
        "Taken",
        &[
            ("days", "\"every day\""),
            ("at", "\"03:00..08:00\""),
            ("count", "1"),
            ("by", "\"the bakery\""),
        ],
    ),
    (
        "Larder",
        &[
            ("currency", "\"EUR\""),
            (
                "suppliers",
                "[Supplier(name: \"dairy\", order: \"2 days ahead\")]",
            ),
            ("goods", "[Goods(name: \"milk\", pack: \"5 l\")]"),
        ],
    ),
    (
        "Supplier",
        &[
            ("name", "\"dairy\""),
            ("order", "\"2 days ahead\""),
            ("days", "\"Mon..Fri\""),
            ("by", "\"11:00\""),
        ],
    ),
    (
        "Goods",
        &[
            ("name", "\"quince\""),
            ("kind", "\"fruit\""),
            ("supplier", "\"greengrocer\""),
            ("order", "\"5 days ahead\""),
            ("pack", "\"5 kg\""),
            ("price", "\"12.50\""),
            ("other_packs", "[Pack(holds: \"1 kg\", price: \"2.90\")]"),
            ("loss", "\"18 %\""),
            ("density", "\"1.03 g/ml, the dairy's sheet\""),
            ("each", "\"180 g\""),
            ("stock", "\"2 kg\""),
            ("strength", "\"silver leaf\""),
            ("ahead", "\"defrost 1 day\""),
        ],
    ),
    ("Pack", &[("holds", "\"1 kg\""), ("price", "\"2.90\"")]),
    (
        "Dish",
        &[
            ("id", "\"quince\""),
            ("name", "\"Quince paste\""),
            ("note", "\"read this first\""),
            ("measures", "\"metric\""),
            ("batch", "Batch(portions: 24)"),
            (
                "ingredients",
                "[Ingredient(name: \"quince\", amount: \"4 kg\")]",
            ),
            ("keeps", "\"2 days\""),
            ("best", "\"1 day\""),
            ("control", "Needed"),
            ("waits_at", "\"3 C\""),
            (
                "repeats",
                "[Repeat(steps: [\"boil\"], times: 4, gap: \"overnight\")]",
            ),
            (
                "steps",
                "[Step(id: \"simmer\", name: \"Simmer the pulp\", time: \"6h..7h\")]",
            ),
            (
                "rescues",
                "[Step(id: \"thicken\", name: \"Thicken it\", time: \"20 min\")]",
            ),
        ],
    ),
    (
        "Batch",
        &[
            ("portions", "24"),
            ("vessel", "\"tray\""),
            ("vessels", "2"),
            ("also", "\"small-tray\""),
            ("last", "Part"),
            ("volume", "\"3 l\""),
        ],
    ),
    (
        "Ingredient",
        &[
            ("name", "\"quince\""),
            ("amount", "\"4 kg\""),
            ("per", "Batch"),
            ("into", "\"simmer\""),
            ("part", "\"saffron\""),
            ("order", "\"5 days ahead\""),
            ("supplier", "\"greengrocer\""),
            ("goods", "\"quince, unpeeled\""),
            ("ahead", "\"soak 12h\""),
            ("density", "\"1.03 g/ml, the dairy's sheet\""),
            ("strength", "\"200 bloom\""),
            ("contains", "[Milk]"),
            ("may_contain", "[Almond]"),
            ("declared_by", "\"the maker's label\""),
            ("made_of", "[Part(name: \"whey powder\", contains: [Milk])]"),
            ("sulphites", "\"8 mg/kg\""),
            ("cautions", "[RawEgg]"),
        ],
    ),
    (
        "Part",
        &[
            ("name", "\"whey powder\""),
            ("contains", "[Milk]"),
            ("may_contain", "[Almond]"),
        ],
    ),
    (
        "Repeat",
        &[
            ("steps", "[\"boil\"]"),
            ("times", "4"),
            ("gap", "\"overnight\""),
        ],
    ),
    (
        "Step",
        &[
            ("id", "\"simmer\""),
            ("name", "\"Simmer the pulp\""),
            ("method", "\"keep it barely moving\""),
            ("each", "Batch"),
            ("station", "\"stove\""),
            ("skill", "\"sugar\""),
            ("time", "\"90 min\""),
            ("until", "\"a drop stands on a cold plate\""),
            ("goal", "\"1.2 l\""),
            ("hands", "\"put on 10 min, look 2 min every 30 min\""),
            ("uses", "[Use(kit: \"hob\")]"),
            (
                "keeps_kit",
                "[Keep(kit: \"dome\", count: 24, until: \"turn-out\")]",
            ),
            ("after", "[After(step: \"steep\", gap: \"within 20 min\")]"),
            ("together", "[\"sauce\"]"),
            ("not_before", "\"06:00 on the day\""),
            ("done_by", "\"12:00 on the day\""),
            ("within", "\"06:00..11:00\""),
            ("keeps", "\"24h\""),
            ("best", "\"12h\""),
            ("ways", "[Way(name: \"falling oven\", time: \"overnight\")]"),
            ("temperature", "\"cooled from 82 C to 5 C\""),
            (
                "cooling",
                "Cooling(in: \"ice-bath\", depth: \"60 mm\", across: \"300 x 200 mm\", food: Custard)",
            ),
            ("control", "NotNeeded"),
            ("sugar", "\"20 to 65 Brix\""),
            ("cautions", "[HotSugar]"),
        ],
    ),
    (
        "Use",
        &[("kit", "\"hob\""), ("count", "1"), ("heat", "\"160 C\"")],
    ),
    (
        "Keep",
        &[
            ("kit", "\"dome\""),
            ("count", "24"),
            ("from", "End"),
            ("until", "\"turn-out\""),
            ("to", "End"),
        ],
    ),
    (
        "After",
        &[
            ("step", "\"steep\""),
            ("gap", "\"within 20 min\""),
            ("from", "End"),
            ("to", "Start"),
        ],
    ),
    (
        "Cooling",
        &[
            ("in", "\"ice-bath\""),
            ("depth", "\"60 mm\""),
            ("across", "\"300 x 200 mm\""),
            ("food", "Custard"),
            ("covered", "No"),
            ("stirred", "Yes"),
        ],
    ),
    (
        "Guest",
        &[
            ("name", "\"table 4, seat 2\""),
            ("count", "2"),
            ("kind", "Vulnerable"),
            ("avoids", "[Milk]"),
            ("not", "[Alcohol]"),
            ("without", "[\"ember-pears\"]"),
        ],
    ),
    (
        "Way",
        &[
            ("name", "\"falling oven\""),
            ("time", "\"overnight\""),
            ("hands", "\"put on 10 min\""),
            ("uses", "[Use(kit: \"oven\", heat: \"160 C\")]"),
        ],
    ),
];
