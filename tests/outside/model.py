"""An exchanged instance as a constraint model, written from the format's description alone.

Every activity has one literal for each way and start that it may take by itself (horizon, release, deadline,
calendars, gates, what has happened); everything between activities is linear in those literals. That is far from
the fastest model there is. It is the plainest, and for a dozen activities over a hundred minutes an optimum is
proved in moments.
"""

from ortools.sat.python import cp_model

WEIGHTS = ("late", "wish", "overtime", "uneven", "early", "mode", "moved", "moved_by")


def end_of(instance, mode, start):
    """Returns when a mode that starts at `start` ends, or None where its gate does not open often enough."""
    duration = mode["duration"]
    if isinstance(duration, int):
        return start + duration
    passed = 0
    for opening in instance["gates"][duration["gate"]]["openings"]:
        if opening > start:
            passed += 1
        if passed >= duration.get("count", 1) and opening >= start + duration.get("at_least", 0):
            return opening + duration.get("then", 0)
    return None


def fits(instance, activity, start, end):
    """Returns whether an activity placed so fits its calendars."""
    for entry in activity.get("calendars", []):
        windows = instance["calendars"][entry["calendar"]]["windows"]
        inside = {
            "start": lambda f, t: f <= start < t,
            "end": lambda f, t: f < end <= t,
            "whole": lambda f, t: f <= start and end <= t,
        }[entry["fit"]]
        if not any(inside(f, t) for f, t in windows):
            return False
    return True


def choices(instance, activity):
    """Returns every (mode, start, end) that an activity may take by itself."""
    fixed = activity.get("fixed")
    found = []
    for number, mode in enumerate(activity["modes"]):
        if fixed is not None:
            end = fixed.get("end")
            if end is None:
                end = end_of(instance, mode, fixed["start"])
            if end is not None:
                found.append((number, fixed["start"], end))
            continue
        first = max(instance["earliest"], activity.get("release", instance["earliest"]))
        last = min(instance["latest"], activity.get("deadline", instance["latest"]))
        for start in range(first, last + 1):
            end = end_of(instance, mode, start)
            if end is not None and end <= last and fits(instance, activity, start, end):
                found.append((number, start, end))
    return found


def used_by(mode, start, end):
    """Returns what a placed mode uses: {resource: {minute: quantity}}, the largest of demands that overlap."""
    used = {}
    for demand in mode.get("demands", []):
        if "part" in demand:
            part = demand["part"]
            zero = start if part["edge"] == "start" else end
            minutes = range(max(start, zero + part["from"]), min(end, zero + part["to"]))
        elif "looks" in demand:
            every, length = demand["looks"]["every"], demand["looks"]["length"]
            minutes = [
                minute
                for look in range(start + every, end - length + 1, every)
                for minute in range(look, look + length)
            ]
        else:
            minutes = range(start, end)
        at = used.setdefault(demand["resource"], {})
        for minute in minutes:
            at[minute] = max(at.get(minute, 0), demand["quantity"])
    return used


def amount(steps, minute):
    """Returns the amount that rising steps (from, amount) give at a minute."""
    now = 0
    for since, quantity in steps:
        if since <= minute:
            now = quantity
    return now


class Model:
    """The instance as a CP-SAT model with its cost as the objective."""

    def __init__(self, instance):
        self.instance = instance
        self.model = cp_model.CpModel()
        self.horizon = range(instance["earliest"], instance["latest"])
        self.activities = instance.get("activities", [])
        self.weights = {name: instance.get("weights", {}).get(name, 0) for name in WEIGHTS}
        self.terms = []
        self.choices = [choices(instance, activity) for activity in self.activities]
        self.literals = []
        self.start, self.end = [], []
        self.reached = {}
        # False where some activity can stand nowhere at all.
        self.possible = all(self.choices)
        if not self.possible:
            return
        self._activities()
        self._lags()
        self._holds()
        self._resources()
        self._states()
        self._wishes()
        self.model.minimize(sum(self.terms))

    def _happened(self, activity):
        return self.activities[activity].get("fixed") is not None

    def _activities(self):
        for activity, options in zip(self.activities, self.choices):
            literals = [self.model.new_bool_var("") for _ in options]
            self.model.add_exactly_one(literals)
            self.literals.append(literals)
            for edges, at in ((self.start, 1), (self.end, 2)):
                values = [option[at] for option in options]
                edge = self.model.new_int_var(min(values), max(values), "")
                self.model.add(edge == cp_model.LinearExpr.weighted_sum(literals, values))
                edges.append(edge)
            if activity.get("fixed") is None:
                costs = [self._alone(activity, *option) for option in options]
                self.terms.append(cp_model.LinearExpr.weighted_sum(literals, costs))

    def _alone(self, activity, mode, start, end):
        """Returns what an activity placed so costs, whatever the others do."""
        weights = self.weights
        due = activity.get("due")
        cost = weights["late"] * max(0, end - due) if due is not None else 0
        cost += weights["early"] * activity.get("weight", 0) * (self.instance["latest"] - start)
        cost += weights["mode"] * activity["modes"][mode].get("cost", 0)
        announced = activity.get("announced")
        if announced is not None and announced != start:
            cost += weights["moved"] + weights["moved_by"] * abs(start - announced)
        return cost

    def _edge(self, edge):
        activity, which = edge
        return self.start[activity] if which == "start" else self.end[activity]

    def _between(self, rule):
        """Returns the edges of a rule, or None where both of its activities have happened."""
        if self._happened(rule["from"][0]) and self._happened(rule["to"][0]):
            return None
        return self._edge(rule["to"]) - self._edge(rule["from"])

    def _lags(self):
        for lag in self.instance.get("lags", []):
            between = self._between(lag)
            if between is None:
                continue
            self.model.add(between >= lag["least"])
            if lag.get("most") is not None:
                self.model.add(between <= lag["most"])

    def _holds(self):
        for hold in self.instance.get("holds", []):
            between = self._between(hold)
            if between is not None:
                self.model.add(between >= 0)

    def _reached(self, edge, minute):
        """Returns a literal for "this edge lies at or before this minute", for minutes of the horizon."""
        activity, which = edge
        key = (activity, which)
        if key not in self.reached:
            at = {}
            for literal, option in zip(self.literals[activity], self.choices[activity]):
                at.setdefault(option[1] if which == "start" else option[2], []).append(literal)
            before = [it for moment, those in at.items() if moment < self.horizon.start for it in those]
            so_far, passed = sum(before), []
            for now in self.horizon:
                literal = self.model.new_bool_var("")
                self.model.add(literal == so_far + sum(at.get(now, [])))
                so_far = literal
                passed.append(literal)
            self.reached[key] = passed
        return self.reached[key][minute - self.horizon.start]

    def _resources(self):
        inside = self.horizon
        for number, resource in enumerate(self.instance.get("resources", [])):
            past = {minute: [] for minute in inside}
            to_come = {minute: [] for minute in inside}
            for index, activity in enumerate(self.activities):
                into = past if self._happened(index) else to_come
                for literal, (mode, start, end) in zip(self.literals[index], self.choices[index]):
                    used = used_by(activity["modes"][mode], start, end).get(number, {})
                    for minute, quantity in used.items():
                        if minute in inside:
                            into[minute].append(quantity * literal)
            for hold in self.instance.get("holds", []):
                if hold["resource"] != number:
                    continue
                if self._happened(hold["from"][0]) and self._happened(hold["to"][0]):
                    since, until = (self._moment(hold[edge]) for edge in ("from", "to"))
                    for minute in range(max(since, inside.start), min(until, inside.stop)):
                        past[minute].append(hold["quantity"])
                    continue
                into = past if self._happened(hold["from"][0]) else to_come
                for minute in inside:
                    kept = self._reached(hold["from"], minute) - self._reached(hold["to"], minute)
                    into[minute].append(hold["quantity"] * kept)
            for minute in inside:
                room = amount(resource["capacity"], minute)
                self._capacity(past[minute], to_come[minute], room)
            self._use(number, resource, past, to_come)

    def _moment(self, edge):
        """Returns where an edge of what has happened lies; only a choice of modes could leave that open."""
        activity, which = edge
        moments = {option[1] if which == "start" else option[2] for option in self.choices[activity]}
        if len(moments) > 1:
            raise ValueError("a hold between happened activities whose ends are not known")
        return moments.pop()

    def _capacity(self, past, to_come, room):
        """What has happened may use too much; then nothing that is still to come uses any."""
        if not to_come:
            return
        if not past:
            self.model.add(sum(to_come) <= room)
            return
        uses = self.model.new_bool_var("")
        self.model.add(sum(to_come) == 0).only_enforce_if(~uses)
        self.model.add(sum(to_come) + sum(past) <= room).only_enforce_if(uses)

    def _use(self, number, resource, past, to_come):
        levels = [it for it in self.instance.get("levels", []) if it["resource"] == number]
        regular = resource.get("regular")
        for minute in self.horizon if regular is not None else []:
            used = past[minute] + to_come[minute]
            if used and self.weights["overtime"]:
                most = sum(self._largest(used))
                over = self.model.new_int_var(0, most, "")
                self.model.add(over >= sum(used) - amount(regular, minute))
                self.terms.append(self.weights["overtime"] * over)
        for level in levels:
            for since, until in level["buckets"]:
                minutes = range(max(since, self.horizon.start), min(until, self.horizon.stop))
                used = [it for minute in minutes for it in past[minute] + to_come[minute]]
                weight = self.weights["uneven"] * level["weight"]
                if used and weight:
                    most = self._asked(number) * len(minutes)
                    load = self.model.new_int_var(0, most, "")
                    self.model.add(load == sum(used))
                    square = self.model.new_int_var(0, most * most, "")
                    self.model.add_multiplication_equality(square, [load, load])
                    self.terms.append(weight * square)

    def _largest(self, used):
        # Each term is at most what all activities and holds may ask together.
        return [self.total]

    def _asked(self, number):
        """Returns what everything together may ask of a resource at one minute."""
        asked = sum(
            max(
                (
                    sum(d["quantity"] for d in mode.get("demands", []) if d["resource"] == number)
                    for mode in activity["modes"]
                ),
                default=0,
            )
            for activity in self.activities
        )
        holds = self.instance.get("holds", [])
        return asked + sum(it["quantity"] for it in holds if it["resource"] == number)

    def _states(self):
        for number, state in enumerate(self.instance.get("states", [])):
            needs = []
            for index, activity in enumerate(self.activities):
                for mode, way in enumerate(activity["modes"]):
                    for need in way.get("states", []):
                        if need["state"] == number:
                            needs.append((index, mode, need["value"]))
            first = {}
            for at, (one, mode, value) in enumerate(needs):
                for other, another_mode, another in needs[at + 1 :]:
                    both_past = self._happened(one) and self._happened(other)
                    if one == other or value == another or both_past:
                        continue
                    # One order for a pair, whatever their ways.
                    order = first.setdefault((one, other), self.model.new_bool_var(""))
                    ways = [self._way(one, mode), self._way(other, another_mode)]
                    change = state["change"]
                    self.model.add(self.start[other] >= self.end[one] + change).only_enforce_if(
                        ways + [order]
                    )
                    self.model.add(self.start[one] >= self.end[other] + change).only_enforce_if(
                        ways + [~order]
                    )

    def _way(self, activity, mode):
        """Returns a literal for an activity done in a mode."""
        of = [
            literal
            for literal, option in zip(self.literals[activity], self.choices[activity])
            if option[0] == mode
        ]
        way = self.model.new_bool_var("")
        self.model.add(way == sum(of))
        return way

    def _wishes(self):
        for wish in self.instance.get("wishes", []):
            between = self._between(wish)
            weight = self.weights["wish"] * wish["weight"]
            if between is None or not weight:
                continue
            edges = self.start + self.end
            reach = sum(max(abs(bound) for bound in edge.proto.domain) for edge in edges)
            for bound, sign in (("least", 1), ("most", -1)):
                if wish.get(bound) is not None:
                    missed = self.model.new_int_var(0, reach + abs(wish[bound]), "")
                    self.model.add(missed >= sign * (wish[bound] - between))
                    self.terms.append(weight * missed)

    def fix(self, placements):
        """Fixes every activity where a plan puts it; returns False where one cannot stand there by itself."""
        for literals, options, placed in zip(self.literals, self.choices, placements):
            option = (placed["mode"], placed["start"], placed["end"])
            if option not in options:
                return False
            self.model.add(literals[options.index(option)] == 1)
        return True

    def solve(self, seconds, workers):
        """Returns (status, cost, lower bound): "optimal", "feasible", "infeasible" or "unknown"."""
        if not self.possible:
            return "infeasible", None, None
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = workers
        solver.parameters.random_seed = 1
        status = solver.solve(self.model)
        if status == cp_model.OPTIMAL:
            return "optimal", round(solver.objective_value), round(solver.best_objective_bound)
        if status == cp_model.FEASIBLE:
            return "feasible", round(solver.objective_value), round(solver.best_objective_bound)
        if status == cp_model.INFEASIBLE:
            return "infeasible", None, None
        if status == cp_model.MODEL_INVALID:
            raise ValueError(self.model.validate())
        return "unknown", None, None
