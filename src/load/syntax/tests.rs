//! The reader held to the `ron` crate, and to its promises about broken files.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use ron::value::{Number, RawValue};

use super::{Node, Value, read};
use crate::load::fault::{Collected, Faults, Source};

fn read_text(text: &str) -> (Node, Faults) {
    let faults = Collected::default();
    let source = Source::new("t.ron", text, &faults);
    let node = read(&source);
    drop(source);
    (node, faults.into_faults())
}

/// Returns the faults of a text as `line:column what`.
fn faults_of(text: &str) -> Vec<String> {
    let faults = read_text(text).1.0;
    let said = faults.into_iter();
    said.map(|fault| format!("{}:{} {}", fault.place.line, fault.place.column, fault.what))
        .collect()
}

/// Returns whether a value of ours is one of the crate's.
fn same(ours: &Value, theirs: &ron::Value) -> bool {
    let all = |ours: &[Node], theirs: &[ron::Value]| {
        ours.len() == theirs.len() && ours.iter().zip(theirs).all(|(o, t)| same(&o.value, t))
    };
    match (ours, theirs) {
        (Value::Unit, ron::Value::Unit) | (Value::Option(None), ron::Value::Option(None)) => true,
        (Value::Bool(ours), ron::Value::Bool(theirs)) => ours == theirs,
        (Value::Char(ours), ron::Value::Char(theirs)) => ours == theirs,
        (Value::Text(ours), ron::Value::String(theirs)) => ours == theirs,
        (Value::Bytes(ours), ron::Value::Bytes(theirs)) => ours == theirs,
        (Value::Option(Some(ours)), ron::Value::Option(Some(theirs))) => same(&ours.value, theirs),
        (Value::List(ours), ron::Value::Seq(theirs)) => all(ours, theirs),
        (Value::Map(ours), ron::Value::Map(theirs)) => {
            ours.len() == theirs.len()
                && ours.iter().zip(theirs.iter()).all(|(ours, theirs)| {
                    same(&ours.0.value, theirs.0) && same(&ours.1.value, theirs.1)
                })
        }
        (Value::Int(ours), ron::Value::Number(theirs)) => match *theirs {
            Number::I8(n) => *ours == i128::from(n),
            Number::I16(n) => *ours == i128::from(n),
            Number::I32(n) => *ours == i128::from(n),
            Number::I64(n) => *ours == i128::from(n),
            Number::U8(n) => *ours == i128::from(n),
            Number::U16(n) => *ours == i128::from(n),
            Number::U32(n) => *ours == i128::from(n),
            Number::U64(n) => *ours == i128::from(n),
            _ => false,
        },
        (Value::Float(ours), ron::Value::Number(theirs)) => match *theirs {
            Number::F32(n) => {
                f64::from(n.get()).to_bits() == ours.to_bits()
                    || (ours.is_nan() && n.get().is_nan())
            }
            Number::F64(n) => {
                n.get().to_bits() == ours.to_bits() || (ours.is_nan() && n.get().is_nan())
            }
            _ => false,
        },
        _ => false,
    }
}

fn values() -> impl Strategy<Value = ron::Value> {
    let leaf = prop_oneof![
        Just(ron::Value::Unit),
        any::<bool>().prop_map(ron::Value::Bool),
        any::<char>().prop_map(ron::Value::Char),
        any::<String>().prop_map(ron::Value::String),
        proptest::collection::vec(any::<u8>(), 0..8).prop_map(ron::Value::Bytes),
        any::<i64>().prop_map(|n| ron::Value::Number(n.into())),
        any::<u64>().prop_map(|n| ron::Value::Number(n.into())),
        (-300_i16..300).prop_map(|n| ron::Value::Number(n.into())),
        any::<f64>().prop_map(|n| ron::Value::Number(n.into())),
        Just(ron::Value::Option(None)),
    ];
    leaf.prop_recursive(6, 40, 6, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..6).prop_map(ron::Value::Seq),
            // The crate's maps hold each key once; ours keeps what is written.
            proptest::collection::btree_map(any::<String>(), inner.clone(), 0..4).prop_map(
                |pairs| {
                    let pairs = pairs.into_iter();
                    ron::Value::Map(
                        pairs
                            .map(|(key, value)| (ron::Value::String(key), value))
                            .collect(),
                    )
                }
            ),
            inner.prop_map(|value| ron::Value::Option(Some(Box::new(value)))),
        ]
    })
}

/// Texts with names, fields, remarks and every kind of literal, most of them well formed.
fn texts() -> impl Strategy<Value = String> {
    let blank = prop_oneof![
        6 => Just(String::new()),
        2 => Just(" ".to_owned()),
        1 => Just("\r\n\t".to_owned()),
        1 => Just("// to the end \"(\n".to_owned()),
        1 => Just("/* nested /* twice */ ' */".to_owned()),
    ];
    let name = prop_oneof![
        Just("a"),
        Just("b_2"),
        Just("Menu"),
        Just("_"),
        Just("r"),
        Just("b"),
        Just("br"),
        Just("Some"),
        Just("None"),
        Just("true"),
        Just("inf"),
        Just("e5"),
    ];
    let leaf = prop_oneof![
        Just("1"),
        Just("-0"),
        Just("+7"),
        Just("0x1F"),
        Just("0b101"),
        Just("0o17"),
        Just("1_000"),
        Just("1."),
        Just(".5"),
        Just("1.5e-3"),
        Just("1E5"),
        Just("007"),
        Just("99999999999999999999"),
        Just("-inf"),
        Just("NaN"),
        Just("\"x\""),
        Just("\"\""),
        Just(r#""a\n\"\\\u{e9}\x41\x{""#),
        Just("\"\\\n   on\""),
        Just(r#""\xc3\xa9\u{1F600}""#),
        Just("\"two\nlines\""),
        Just("r\"raw\\\""),
        Just("r##\"a\"#b\"##"),
        Just("'c'"),
        Just("'\\''"),
        Just("'é'"),
        Just("b\"by\\xff\""),
        Just("true"),
        Just("None"),
        Just("()"),
        Just("Late"),
        Just("1..2"),
        Just("1__2"),
        Just("1_.5"),
        Just("''"),
        Just("'ab'"),
        Just("\"\\q\""),
        Just("\"\\u{d800}\""),
        Just("5u8"),
        Just("b'x'"),
        Just("r#a"),
        Just("="),
        Just("#"),
    ];
    let leaf = leaf.prop_map(str::to_owned).boxed();
    leaf.prop_recursive(5, 40, 5, move |inner| {
        let item = (blank.clone(), inner.clone(), blank.clone())
            .prop_map(|(before, value, after)| before + &value + &after);
        let list = (proptest::collection::vec(item.clone(), 0..5), any::<bool>()).prop_map(
            |(items, comma)| items.join(",") + if comma && !items.is_empty() { "," } else { "" },
        );
        let field = (blank.clone(), name.clone(), blank.clone(), item)
            .prop_map(|(before, name, after, value)| format!("{before}{name}{after}:{value}"));
        let fields = proptest::collection::vec(field, 1..4).prop_map(|fields| fields.join(","));
        prop_oneof![
            list.clone().prop_map(|list| format!("[{list}]")),
            list.clone().prop_map(|list| format!("({list})")),
            (name.clone(), blank.clone(), list)
                .prop_map(|(name, blank, list)| format!("{name}{blank}({list})")),
            (name.clone(), fields.clone()).prop_map(|(name, fields)| format!("{name}({fields})")),
            fields.clone().prop_map(|fields| format!("({fields})")),
            (inner.clone(), inner.clone()).prop_map(|(key, value)| format!("{{{key}:{value}}}")),
            inner.clone().prop_map(|value| format!("Some({value})")),
            (inner.clone(), inner).prop_map(|(one, two)| format!("{one}{two}")),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct(
            "tests/proptest-regressions/syntax.txt",
        ))),
        ..ProptestConfig::with_cases(512)
    })]

    #[test]
    fn what_the_crate_writes_is_read_as_the_crate_reads_it(value in values()) {
        let pretty = ron::ser::PrettyConfig::new();
        let raw = ron::ser::PrettyConfig::new().escape_strings(false).compact_arrays(true);
        let written = [
            ron::to_string(&value),
            ron::ser::to_string_pretty(&value, pretty),
            ron::ser::to_string_pretty(&value, raw),
        ];
        for text in written.map(Result::unwrap) {
            let theirs: ron::Value = ron::from_str(&text).unwrap();
            let (ours, faults) = read_text(&text);
            prop_assert_eq!(&faults.0, &vec![], "{}", text);
            prop_assert!(same(&ours.value, &theirs), "{text}\n{ours:?}\n{theirs:?}");
        }
    }

    #[test]
    fn what_is_read_without_fault_the_crate_reads_too(text in texts()) {
        if read_text(&text).1.0.is_empty() {
            let theirs = RawValue::from_ron(&text);
            prop_assert!(theirs.is_ok(), "{text}\n{theirs:?}");
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in ".*") {
        let _ = read_text(&text);
    }
}

#[test]
fn most_generated_texts_are_read_without_fault() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let clean = (0..200)
        .filter(|_| {
            let text = texts().new_tree(&mut runner).unwrap().current();
            read_text(&text).1.0.is_empty()
        })
        .count();
    // The property above says nothing when everything it generates is refused.
    assert!(clean > 60, "{clean} of 200");
}

#[test]
fn several_faults_of_form_are_all_reported() {
    let text =
        "Menu(\n  id \"a\",\n  name: \"b\"\n  covers = 4,\n  open: ],\n  late:,\n  id: \"c\",\n)";
    assert_eq!(
        faults_of(text),
        [
            "2:5 a colon is missing after `id`",
            "3:12 a comma is missing before `covers`",
            "4:10 `=` between a field and its value",
            "5:3 `open` has no value",
            "5:9 `]` here, but the `(` of line 1 is still open",
            "6:3 `late` has no value",
            "7:3 `id` is given twice; the first time on line 2",
        ]
    );
}

#[test]
fn brackets_say_where_they_were_opened() {
    assert_eq!(
        faults_of("Menu(\n dishes: [\n  Serve(a: 1,\n ],\n)"),
        ["4:2 `]` here, but the `(` of line 3 is still open"]
    );
    assert_eq!(
        faults_of("Menu(\n a: [1,"),
        ["2:5 this `[` is never closed"]
    );
}

#[test]
fn a_text_without_its_quote_ends_with_its_line() {
    assert_eq!(
        faults_of("Menu(\n a: \"one,\n b: \"two\",\n c: 5 min,\n)"),
        [
            "2:5 the text that begins here has no closing quote on its line",
            "4:7 `min` after a number without quotes",
        ]
    );
    assert_eq!(
        faults_of("(a: \"one)\n"),
        ["1:5 the text that begins here has no closing quote"]
    );
}

/// Said once and for all of it, and what else is wrong on the line is still found.
#[test]
fn a_quotation_mark_inside_a_text_is_said_as_such() {
    let inside = "a quotation mark inside a text";
    assert_eq!(
        faults_of("(a: \"with the \"long\" paddle.\", b: 5 min)"),
        [
            format!("1:15 {inside}").as_str(),
            "1:37 `min` after a number without quotes",
        ]
    );
    assert_eq!(
        faults_of("[\"the \"long\" one\",\n \"two\"]"),
        [format!("1:7 {inside}").as_str()]
    );
    // A comma that is missing before the next field is another matter.
    let missing = faults_of("(a: \"one\"b: \"two\")");
    assert_eq!(missing, ["1:10 a comma is missing before `b`"]);
}

#[test]
fn what_a_cook_writes_without_quotes_is_explained() {
    assert_eq!(faults_of("(a: 6h..7h)"), ["1:5 `6h..7h` is not a number"]);
    assert_eq!(faults_of("(a: 19:30)"), ["1:7 `:` cannot stand here"]);
    assert_eq!(
        faults_of("(a: 'text')"),
        ["1:5 texts stand in double quotes"]
    );
}

#[test]
fn huge_and_hostile_texts_are_refused_quickly() {
    let deep = "(".repeat(100_000);
    assert!(faults_of(&deep).contains(&"1:65 more than 64 brackets inside one another".to_owned()));
    assert_eq!(faults_of(&format!("({}", "]".repeat(100_000))).len(), 201);
    let lists = "[".repeat(100_000) + &"]".repeat(100_000);
    assert_eq!(faults_of(&lists).len(), 1);
    for nonsense in [
        "x", ",", "\"", "'", "(:", "/*", "r#\"", "\\", "\0", "1e", "\u{feff}", "b\"", "a:1 ",
        "\"\n",
    ] {
        let text = nonsense.repeat(1_000_000 / nonsense.len());
        let faults = faults_of(&text);
        assert!(!faults.is_empty() || nonsense == "x", "{nonsense:?}");
        assert!(faults.len() <= 201, "{nonsense:?}");
    }
    let fields: Vec<_> = (0..100_000).map(|n| format!("f{n}:1,")).collect();
    let fields = fields.concat();
    assert_eq!(faults_of(&format!("({fields})")), Vec::<String>::new());
}
