//! Instances: written from the engine's own types, and read back with every fault named.

use std::io;

use super::fault::Faults;
use super::json::{self, Json};
use super::limits;
use super::reader::{Fields, Place, Reader};
use super::written::Document;
use crate::schedule::{
    Activity, ActivityId, Anchor, Calendar, CalendarId, Coverage, Demand, Duration, Edge, Gate,
    GateId, Hold, Instance, Lag, Level, Mode, Resource, ResourceId, StateId, StateResource, Time,
    Use, Weights, Wish,
};

pub(super) const FORMAT: &str = "countback-instance";
pub(super) const VERSION: i64 = 1;

/// An instance with what its parts are called, for people.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Named {
    /// The instance.
    pub instance: Instance,
    /// What its parts are called.
    pub names: Names,
}

/// What the parts of an instance are called: in each list a name, or none, in the order of the instance's own
/// list. A list that is too short names what it reaches.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Names {
    /// Of the resources.
    pub resources: Vec<Option<String>>,
    /// Of the state resources.
    pub states: Vec<Option<String>>,
    /// Of the calendars.
    pub calendars: Vec<Option<String>>,
    /// Of the gates.
    pub gates: Vec<Option<String>>,
    /// Of the activities.
    pub activities: Vec<Option<String>>,
}

/// Writes an instance.
pub fn write_instance(named: &Named, out: &mut impl io::Write) -> io::Result<()> {
    json::write(&Document::new(named), out)
}

/// Reads an instance that can be solved, or returns everything that is wrong with it.
pub fn read_instance(text: &str) -> Result<Named, Faults> {
    let mut reader = Reader::default();
    let document = super::document(text)?;
    let known = [
        "format",
        "version",
        "earliest",
        "latest",
        "weights",
        "resources",
        "states",
        "calendars",
        "gates",
        "activities",
        "lags",
        "holds",
        "wishes",
        "levels",
    ];
    let fields = reader.fields(&Place::WHOLE, &document, &known);
    super::is_format(&mut reader, &fields, FORMAT, VERSION)?;
    let named = Reading::new(&mut reader, &fields).named(&fields);
    if !reader.has_faults() {
        limits::check(&mut reader, &named.instance);
    }
    reader.finish(named)
}

/// How many of each there are, so that a place can be checked where it stands.
#[derive(Clone, Copy)]
struct Counts {
    resources: usize,
    states: usize,
    calendars: usize,
    gates: usize,
    activities: usize,
}

struct Reading<'r> {
    reader: &'r mut Reader,
    counts: Counts,
}

const EDGES: &[(&str, Edge)] = &[("start", Edge::Start), ("end", Edge::End)];
const ANCHORS: &[(&str, Anchor)] = &[("start", Anchor::Start), ("end", Anchor::End)];
const COVERAGES: &[(&str, Coverage)] = &[
    ("start", Coverage::Start),
    ("end", Coverage::End),
    ("whole", Coverage::Whole),
];

impl<'r> Reading<'r> {
    fn new(reader: &'r mut Reader, fields: &Fields<'_, '_>) -> Self {
        let count = |name: &str| match fields.get(name) {
            Some(Json::List(items)) => items.len(),
            _ => 0,
        };
        Self {
            reader,
            counts: Counts {
                resources: count("resources"),
                states: count("states"),
                calendars: count("calendars"),
                gates: count("gates"),
                activities: count("activities"),
            },
        }
    }

    fn named(mut self, fields: &Fields<'_, '_>) -> Named {
        let mut named = Named::default();
        let instance = &mut named.instance;
        let names = &mut named.names;
        instance.earliest = self.reader.small_of(fields, "earliest", limits::MOMENT);
        instance.latest = self.reader.small_of(fields, "latest", limits::MOMENT);
        if let Some(json) = fields.get("weights") {
            instance.weights = self.weights(&fields.at("weights"), json);
        }
        self.each(fields, "resources", |it, at, json| {
            let (resource, name) = it.resource(at, json);
            instance.resources.push(resource);
            names.resources.push(name);
        });
        self.each(fields, "states", |it, at, json| {
            let of = it.reader.fields(at, json, &["name", "change"]);
            let change = it.reader.small_of(&of, "change", limits::SPAN);
            instance.states.push(StateResource { change });
            names.states.push(it.reader.text_if(&of, "name"));
        });
        self.each(fields, "calendars", |it, at, json| {
            let of = it.reader.fields(at, json, &["name", "windows"]);
            let windows = it.windows(&of, "windows");
            instance.calendars.push(Calendar { windows });
            names.calendars.push(it.reader.text_if(&of, "name"));
        });
        self.each(fields, "gates", |it, at, json| {
            let (gate, name) = it.gate(at, json);
            instance.gates.push(gate);
            names.gates.push(name);
        });
        self.each(fields, "activities", |it, at, json| {
            let (activity, name) = it.activity(at, json);
            instance.activities.push(activity);
            names.activities.push(name);
        });
        self.each(fields, "lags", |it, at, json| {
            let of = it.reader.fields(at, json, &["from", "to", "least", "most"]);
            instance.lags.push(Lag {
                from: it.edge_of(&of, "from"),
                to: it.edge_of(&of, "to"),
                least: it.reader.small_of(&of, "least", limits::MOMENT),
                most: it.reader.small_if(&of, "most", limits::MOMENT),
            });
        });
        self.each(fields, "holds", |it, at, json| {
            let of = it
                .reader
                .fields(at, json, &["resource", "quantity", "from", "to"]);
            instance.holds.push(Hold {
                resource: it.resource_of(&of),
                quantity: it.reader.small_of(&of, "quantity", limits::QUANTITY),
                from: it.edge_of(&of, "from"),
                to: it.edge_of(&of, "to"),
            });
        });
        self.each(fields, "wishes", |it, at, json| {
            let of = it
                .reader
                .fields(at, json, &["from", "to", "least", "most", "weight"]);
            instance.wishes.push(Wish {
                from: it.edge_of(&of, "from"),
                to: it.edge_of(&of, "to"),
                least: it.reader.small_if(&of, "least", limits::MOMENT),
                most: it.reader.small_if(&of, "most", limits::MOMENT),
                weight: it.reader.small_of(&of, "weight", limits::WEIGHT),
            });
        });
        self.each(fields, "levels", |it, at, json| {
            let of = it
                .reader
                .fields(at, json, &["resource", "buckets", "weight"]);
            instance.levels.push(Level {
                resource: it.resource_of(&of),
                buckets: it.windows(&of, "buckets"),
                weight: it.reader.small_of(&of, "weight", limits::WEIGHT),
            });
        });
        named
    }

    /// Reads each item of a list that may be left out.
    fn each(
        &mut self,
        fields: &Fields<'_, '_>,
        name: &str,
        mut read: impl FnMut(&mut Self, &Place<'_>, &Json),
    ) {
        let at = fields.at(name);
        for (index, json) in self.reader.list_if(fields, name).iter().enumerate() {
            read(self, &at.item(index), json);
        }
    }

    fn weights(&mut self, at: &Place<'_>, json: &Json) -> Weights {
        let mut weights = Weights::default();
        let mut places = [
            ("late", &mut weights.late),
            ("wish", &mut weights.wish),
            ("overtime", &mut weights.overtime),
            ("uneven", &mut weights.uneven),
            ("early", &mut weights.early),
            ("mode", &mut weights.mode),
            ("moved", &mut weights.moved),
            ("moved_by", &mut weights.moved_by),
        ];
        let known: Vec<&str> = places.iter().map(|(name, _)| *name).collect();
        let of = self.reader.fields(at, json, &known);
        for (name, weight) in &mut places {
            if let Some(json) = of.get(name) {
                **weight = self.reader.integer(&of.at(name), json, limits::FACTOR);
            }
        }
        weights
    }

    fn resource(&mut self, at: &Place<'_>, json: &Json) -> (Resource, Option<String>) {
        let of = self
            .reader
            .fields(at, json, &["name", "capacity", "regular"]);
        let example = "write [from, amount] pairs, as [[0, 2]] for two from minute 0 on";
        let capacity = match self.reader.need(&of, "capacity", example) {
            Some(json) => self.steps(&of.at("capacity"), json),
            None => Vec::new(),
        };
        let regular = of
            .get("regular")
            .map(|json| self.steps(&of.at("regular"), json));
        let name = self.reader.text_if(&of, "name");
        (Resource { capacity, regular }, name)
    }

    fn steps(&mut self, at: &Place<'_>, json: &Json) -> Vec<(Time, i32)> {
        let mut steps: Vec<(Time, i32)> = Vec::new();
        for (index, json) in self.reader.list(at, json).iter().enumerate() {
            let at = at.item(index);
            let Some((from, amount)) = self.reader.pair(&at, json, "[0, 2] (from, amount)") else {
                continue;
            };
            let from = self.reader.small(&at.item(0), from, limits::MOMENT);
            let amount = self.reader.small(&at.item(1), amount, limits::AMOUNT);
            if let Some(&(before, _)) = steps.last()
                && from <= before
            {
                self.reader.fault(
                    &at.item(0),
                    format!("{from} does not come after {before}"),
                    "write the steps in order, each moment once",
                );
            }
            steps.push((from, amount));
        }
        steps
    }

    fn windows(&mut self, of: &Fields<'_, '_>, name: &str) -> Vec<(Time, Time)> {
        let at = of.at(name);
        let mut windows: Vec<(Time, Time)> = Vec::new();
        let example = "write [from, to] pairs in order, as [[0, 60], [120, 180]]";
        let Some(json) = self.reader.need(of, name, example) else {
            return windows;
        };
        for (index, json) in self.reader.list(&at, json).iter().enumerate() {
            let at = at.item(index);
            let Some((from, to)) = self.reader.pair(&at, json, "[0, 60] (from, to)") else {
                continue;
            };
            let from = self.reader.small(&at.item(0), from, limits::MOMENT);
            let to = self.reader.small(&at.item(1), to, limits::MOMENT);
            if to <= from {
                self.reader.fault(
                    &at,
                    format!("it ends at {to}, no later than it begins"),
                    "write [from, to] with to after from; to is the first minute outside",
                );
            }
            if let Some(&(_, before)) = windows.last()
                && from < before
            {
                self.reader.fault(
                    &at.item(0),
                    format!("{from} lies before the end of the window before it, {before}"),
                    "write the windows in order, none over another",
                );
            }
            windows.push((from, to));
        }
        windows
    }

    fn gate(&mut self, at: &Place<'_>, json: &Json) -> (Gate, Option<String>) {
        let of = self.reader.fields(at, json, &["name", "openings"]);
        let mut openings: Vec<Time> = Vec::new();
        let listed = self
            .reader
            .need(&of, "openings", "write the moments it opens, in order");
        if let Some(json) = listed {
            let at = of.at("openings");
            for (index, json) in self.reader.list(&at, json).iter().enumerate() {
                let at = at.item(index);
                let opening = self.reader.small(&at, json, limits::MOMENT);
                if let Some(&before) = openings.last()
                    && opening <= before
                {
                    self.reader.fault(
                        &at,
                        format!("{opening} does not come after {before}"),
                        "write the openings in order, each once",
                    );
                }
                openings.push(opening);
            }
        }
        (Gate { openings }, self.reader.text_if(&of, "name"))
    }

    fn activity(&mut self, at: &Place<'_>, json: &Json) -> (Activity, Option<String>) {
        let known = [
            "name",
            "modes",
            "calendars",
            "release",
            "deadline",
            "due",
            "fixed",
            "weight",
            "announced",
        ];
        let of = self.reader.fields(at, json, &known);
        let mut activity = Activity {
            release: self.reader.small_if(&of, "release", limits::MOMENT),
            deadline: self.reader.small_if(&of, "deadline", limits::MOMENT),
            due: self.reader.small_if(&of, "due", limits::MOMENT),
            announced: self.reader.small_if(&of, "announced", limits::MOMENT),
            weight: self
                .reader
                .small_if(&of, "weight", limits::WEIGHT)
                .unwrap_or(0),
            ..Activity::default()
        };
        let example = "write a list of at least one way to do it, as [{\"duration\": 30}]";
        if let Some(json) = self.reader.need(&of, "modes", example) {
            let at = of.at("modes");
            let modes = self.reader.list(&at, json);
            if matches!(json, Json::List(modes) if modes.is_empty()) {
                self.reader.fault(&at, "it is empty", example);
            }
            for (index, json) in modes.iter().enumerate() {
                let mode = self.mode(&at.item(index), json);
                activity.modes.push(mode);
            }
        }
        self.each(&of, "calendars", |it, at, json| {
            let of = it.reader.fields(at, json, &["calendar", "fit"]);
            let calendar = it
                .reader
                .place_of(&of, "calendar", "calendars", it.counts.calendars);
            let fit = it
                .reader
                .need(&of, "fit", "write \"start\", \"end\" or \"whole\"")
                .and_then(|json| it.reader.word(&of.at("fit"), json, COVERAGES));
            activity
                .calendars
                .push((CalendarId(calendar), fit.unwrap_or(Coverage::Whole)));
        });
        if let Some(json) = of.get("fixed") {
            let at = of.at("fixed");
            let fixed = self.reader.fields(&at, json, &["start", "end"]);
            let start = self.reader.small_of(&fixed, "start", limits::MOMENT);
            let end = self.reader.small_if(&fixed, "end", limits::MOMENT);
            if end.is_some_and(|end| end < start) {
                self.reader.fault(
                    &fixed.at("end"),
                    "it lies before the start",
                    "write the first minute after it",
                );
            }
            activity.fixed = Some((start, end));
        }
        (activity, self.reader.text_if(&of, "name"))
    }

    fn mode(&mut self, at: &Place<'_>, json: &Json) -> Mode {
        let of = self
            .reader
            .fields(at, json, &["duration", "demands", "states", "cost"]);
        let example = "write minutes, as 30, or {\"gate\": 0} for until a gate opens";
        let duration = match self.reader.need(&of, "duration", example) {
            Some(json) => self.duration(&of.at("duration"), json),
            None => Duration::Fixed(0),
        };
        let mut mode = Mode {
            duration,
            demands: Vec::new(),
            states: Vec::new(),
            cost: self
                .reader
                .small_if(&of, "cost", limits::WEIGHT)
                .unwrap_or(0),
        };
        self.each(&of, "demands", |it, at, json| {
            let demand = it.demand(at, json);
            mode.demands.push(demand);
        });
        self.each(&of, "states", |it, at, json| {
            let of = it.reader.fields(at, json, &["state", "value"]);
            let state = it.reader.place_of(&of, "state", "states", it.counts.states);
            let value = it.reader.small_of(&of, "value", limits::MOMENT);
            if mode.states.iter().any(|(before, _)| before.0 == state) {
                it.reader.fault(
                    at,
                    format!("states[{state}] is asked for twice"),
                    "ask for one value of each",
                );
            }
            mode.states.push((StateId(state), value));
        });
        mode
    }

    fn duration(&mut self, at: &Place<'_>, json: &Json) -> Duration {
        if !matches!(json, Json::Object(_)) {
            return Duration::Fixed(self.reader.small(at, json, limits::SPAN));
        }
        let of = self
            .reader
            .fields(at, json, &["gate", "count", "at_least", "then"]);
        let or = |given: Option<Time>, otherwise| given.unwrap_or(otherwise);
        Duration::Until {
            gate: GateId(
                self.reader
                    .place_of(&of, "gate", "gates", self.counts.gates),
            ),
            count: or(self.reader.small_if(&of, "count", limits::COUNT), 1) as u32,
            at_least: or(self.reader.small_if(&of, "at_least", limits::SPAN), 0),
            then: or(self.reader.small_if(&of, "then", limits::SPAN), 0),
        }
    }

    fn demand(&mut self, at: &Place<'_>, json: &Json) -> Demand {
        let of = self
            .reader
            .fields(at, json, &["resource", "quantity", "part", "looks"]);
        let resource = self.resource_of(&of);
        let quantity = self.reader.small_of(&of, "quantity", limits::QUANTITY);
        let mut when = Use::Whole;
        if let Some(json) = of.get("part") {
            let at = of.at("part");
            let part = self.reader.fields(&at, json, &["edge", "from", "to"]);
            let anchor = self
                .reader
                .need(&part, "edge", "write \"start\" or \"end\"")
                .and_then(|json| self.reader.word(&part.at("edge"), json, ANCHORS))
                .unwrap_or(Anchor::Start);
            let from = self.reader.small_of(&part, "from", limits::MOMENT);
            let to = self.reader.small_of(&part, "to", limits::MOMENT);
            if to <= from {
                self.reader.fault(
                    &part.at("to"),
                    format!("{to} does not come after from, {from}"),
                    "write the first minute after it, counted from the same edge",
                );
            }
            when = Use::Part { anchor, from, to };
        }
        if let Some(json) = of.get("looks") {
            let at = of.at("looks");
            if when != Use::Whole {
                self.reader.fault(
                    &at,
                    "it stands beside a part",
                    "write a demand of its own for it",
                );
            }
            let looks = self.reader.fields(&at, json, &["every", "length"]);
            let every = self.reader.small_of(&looks, "every", limits::POSITIVE);
            let length = self.reader.small_of(&looks, "length", limits::POSITIVE);
            if length > every {
                self.reader.fault(
                    &looks.at("length"),
                    format!("{length} is longer than every, {every}"),
                    "write at most as much as every; a look ends before the next begins",
                );
            }
            when = Use::Every { every, length };
        }
        Demand {
            resource,
            quantity,
            when,
        }
    }

    fn resource_of(&mut self, of: &Fields<'_, '_>) -> ResourceId {
        let count = self.counts.resources;
        ResourceId(self.reader.place_of(of, "resource", "resources", count))
    }

    fn edge_of(&mut self, of: &Fields<'_, '_>, name: &str) -> (ActivityId, Edge) {
        let example = "[3, \"end\"] (activity, edge)";
        let read = self
            .reader
            .need(of, name, &format!("write an edge, as {example}"))
            .and_then(|json| self.reader.pair(&of.at(name), json, example));
        let Some((activity, edge)) = read else {
            return (ActivityId(0), Edge::Start);
        };
        let at = of.at(name);
        let count = self.counts.activities;
        let activity = self
            .reader
            .place_in(&at.item(0), activity, "activities", count);
        let edge = self.reader.word(&at.item(1), edge, EDGES);
        (ActivityId(activity), edge.unwrap_or(Edge::Start))
    }
}
