//! `Menu(…)` as written → the menu, with the kitchen and the dishes it refers to.

use super::Reading;
use super::decode::Fields;
use super::dish_card::{ALLERGENS, CAUTIONS};
use super::fault::Source;
use super::phrases;
use super::syntax::{Node, Value};
use super::{dish_card, kitchen_card, larder_card, read_referred};
use crate::menu::{
    Course, Dish, Gelling, Guest, GuestKind, Kitchen, Larder, Menu, Rules, Style, Subject,
};
use crate::time::{Minutes, TimeOfDay};

pub(super) const STYLES: &[(&str, Style)] = &[("Late", Style::Late), ("Even", Style::Even)];

pub(super) const RULES: &[(&str, Rules)] = &[
    ("UsModelCode", Rules::UsModelCode),
    ("England", Rules::England),
    ("Wales", Rules::Wales),
    ("Scotland", Rules::Scotland),
    ("NorthernIreland", Rules::NorthernIreland),
    ("AustraliaNewZealand", Rules::AustraliaNewZealand),
];

pub(super) const GUEST_KINDS: &[(&str, GuestKind)] = &[
    ("Anyone", GuestKind::Anyone),
    ("Vulnerable", GuestKind::Vulnerable),
    ("Infant", GuestKind::Infant),
];

pub(super) const GELLINGS: &[(&str, Gelling)] = &[
    ("Linear", Gelling::Linear),
    ("SquareRoot", Gelling::SquareRoot),
];

/// As much of a menu as could be read.
pub(super) struct Read {
    /// The whole of it, when service and kitchen could be read; only free of faults when none was reported.
    pub(super) menu: Option<Menu>,
    /// The larder, when there is no menu.
    pub(super) larder: Larder,
    /// The kitchen, when there is no menu.
    pub(super) kitchen: Option<Kitchen>,
    /// The dishes, when there is no menu.
    pub(super) dishes: Vec<Dish>,
}

/// Reads a menu.
pub(super) fn menu(reading: &mut Reading<'_>, source: &Source<'_>, node: &Node) -> Option<Read> {
    let fields = Fields::open(source, node, "Menu")?;
    reading.places.keep(Subject::Menu, &fields);
    let id = fields.id("id");
    let name = fields.required_text("name").unwrap_or_default();
    let service = fields.required_phrase("service", phrases::service);
    let covers = fields.required_count("covers").unwrap_or(1);
    let style = fields.variant("style", STYLES).unwrap_or_default();
    let prep_from = fields.phrase("prep_from", phrases::date);
    let rules = fields.variant("rules", RULES);
    let guests = fields
        .list("guests")
        .iter()
        .filter_map(|node| guest(source, node))
        .collect();
    let kitchen = fields
        .required("kitchen")
        .and_then(|node| referred(reading, source, node, kitchen_card::kitchen));
    if kitchen.is_none() {
        reading.names_missing = true;
    }
    let larder = fields.optional("larder").map(|node| {
        let larder = referred(reading, source, node, larder_card::larder);
        reading.names_missing |= larder.is_none();
        larder.unwrap_or_default()
    });
    let larder = larder.unwrap_or_default();
    let gelling = fields.variant("gelling", GELLINGS).unwrap_or_default();
    let at = service.map(|service| service.time);
    let mut courses: Vec<_> = fields
        .list("courses")
        .iter()
        .filter_map(|node| {
            reading.named(
                |reading, source, node| course(reading, source, node, at),
                source,
                node,
            )
        })
        .collect();
    if courses.is_empty() {
        courses.push(Course {
            id: id.clone().unwrap_or_default(),
            name: name.clone(),
            offset: Minutes::ZERO,
        });
    }
    let mut dishes = Vec::new();
    for node in fields.required_list("dishes").unwrap_or_default() {
        dishes.extend(serve(reading, source, node, &courses[0].id));
    }
    fields.finish();
    Some(match (service, kitchen) {
        (Some(service), Some(kitchen)) => Read {
            menu: Some(Menu {
                id: id.unwrap_or_default(),
                name,
                service,
                covers,
                prep_from,
                style,
                rules,
                guests,
                kitchen,
                larder,
                gelling,
                courses,
                dishes,
                dropped: Vec::new(),
            }),
            larder: Larder::default(),
            kitchen: None,
            dishes: Vec::new(),
        },
        (_, kitchen) => Read {
            menu: None,
            larder,
            kitchen,
            dishes,
        },
    })
}

fn guest(source: &Source<'_>, node: &Node) -> Option<Guest> {
    let fields = Fields::open(source, node, "Guest")?;
    let guest = Guest {
        name: fields.required_text("name").unwrap_or_default(),
        count: fields.count("count").unwrap_or(1),
        kind: fields.variant("kind", GUEST_KINDS).unwrap_or_default(),
        avoids: fields.variants("avoids", ALLERGENS).unwrap_or_default(),
        not: fields.variants("not", CAUTIONS).unwrap_or_default(),
        without: fields.texts("without"),
    };
    fields.finish();
    Some(guest)
}

fn course(
    reading: &mut Reading<'_>,
    source: &Source<'_>,
    node: &Node,
    service: Option<TimeOfDay>,
) -> Option<Course> {
    let fields = Fields::open(source, node, "Course")?;
    let id = fields.id("id");
    let name = fields.required_text("name").unwrap_or_default();
    let offset = fields
        .phrase("at", |text| phrases::course_at(text, service))
        .unwrap_or_default();
    if let Some(id) = &id {
        reading.places.keep(Subject::Course(id.clone()), &fields);
    }
    fields.finish();
    Some(Course {
        id: id?,
        name,
        offset,
    })
}

fn serve(
    reading: &mut Reading<'_>,
    source: &Source<'_>,
    node: &Node,
    first_course: &str,
) -> Option<Dish> {
    if let Value::Struct(Some(name), _) | Value::Tuple(Some(name), _) = &node.value
        && matches!(name.as_str(), "Dish" | "File")
    {
        source.fault_try(
            node.span,
            format!("`{name}(…)` needs `Serve(…)` around it"),
            format!("Serve(dish: {name}(…))"),
        );
        // What stands in it is still looked at, so that its own faults come at once too.
        return referred(reading, source, node, dish_card::dish).map(|dish| Dish {
            course: first_course.to_owned(),
            ..dish
        });
    }
    let Some(fields) = Fields::open(source, node, "Serve") else {
        reading.names_missing = true;
        return None;
    };
    let dish = fields
        .required("dish")
        .and_then(|node| referred(reading, source, node, dish_card::dish));
    let course = fields
        .text("course")
        .unwrap_or_else(|| first_course.to_owned());
    let covers = fields.count("covers");
    let spare = fields.count("spare").unwrap_or(0);
    let batches = fields.count("batches");
    let margin = fields
        .phrase("margin", phrases::duration)
        .unwrap_or_default();
    match &dish {
        Some(dish) => reading
            .places
            .keep(Subject::Serve(dish.id.clone()), &fields),
        None => reading.names_missing = true,
    }
    fields.finish();
    let mut dish = dish?;
    dish.course = course;
    dish.covers = covers;
    dish.spare = spare;
    dish.batches = batches;
    dish.margin = margin;
    Some(dish)
}

/// Reads what stands here, or in the file that `File("…")` names.
fn referred<T>(
    reading: &mut Reading<'_>,
    source: &Source<'_>,
    node: &Node,
    read: fn(&mut Reading<'_>, &Source<'_>, &Node) -> Option<T>,
) -> Option<T> {
    match &node.value {
        Value::Tuple(Some(name), items) if name == "File" => {
            if let [
                Node {
                    value: Value::Text(path),
                    ..
                },
            ] = items.as_slice()
            {
                return read_referred(reading, source, node.span, path, read);
            }
        }
        Value::Struct(Some(name), _) if name == "File" => {}
        // A path without `File(…)` around it: what is meant is plain.
        Value::Text(path) => {
            source.fault_try(
                node.span,
                "the name of a file stands in `File(…)`",
                format!("File({})", super::syntax::quoted(path)),
            );
            return None;
        }
        _ => return read(reading, source, node),
    }
    source.fault_try(
        node.span,
        "`File(…)` takes the path of one file, from the folder of this one",
        "File(\"dishes/quince.ron\")",
    );
    None
}
