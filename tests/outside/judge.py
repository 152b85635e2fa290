"""Judges countback's answers by an outside solver.

For every instance: a plan must be feasible in the model with every start fixed, and cost there what it says; an
instance that the solver proves impossible has no plan; no plan costs less than a proved optimum, and no bound lies
above one; what is called impossible has no plan in the model. How often the plan equals the proved optimum is
counted, and required only as a share (--least).

  run sample               the fixed sample of the checks: features one by one, all together, squeezed
  run many --count 500     all features, 4 to 12 activities: the share that equals the proved optimum
  run squeezed             the same, tightened until some are impossible
  run planted              the model itself: a plan known to fit must fit, and cost what it is said to
  run files FILE…          instances from anywhere
"""

import argparse
import itertools
import json
import multiprocessing
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

from model import Model

FEATURES = (
    "modes states parts shifts calendars gates holds gaps bounds due wishes overtime levels announced happened"
).split()


def run(program, *words):
    """Runs the program and returns its exit code; any end but 0 and 1 is an error."""
    done = subprocess.run([program, *words], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise RuntimeError(f"{' '.join(words)}: {done.returncode}: {done.stderr.strip()}")
    return done.returncode


def judge(case):
    """Judges one case; returns (name, verdicts, facts)."""
    name, program, generate, given, options = case
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        file, plan_file = folder / "instance.json", folder / "plan.json"
        if generate is None:
            shutil.copyfile(given, file)
        else:
            run(program, "generate", *generate, "--out", str(file))
        run(program, "solve", str(file), "--epochs", str(options.epochs), "--out", str(plan_file))
        instance = json.loads(file.read_text())
        answer = json.loads(plan_file.read_text())
        wrong = []
        facts = {"ours": None, "outside": None, "equal": False, "proved": False}
        outcome = answer["outcome"]
        has_plan = outcome in ("optimal", "feasible")
        if has_plan != ("placements" in answer) or has_plan != ("cost" in answer):
            wrong.append(f"{outcome} with or without a plan")
        if has_plan:
            facts["ours"] = answer["cost"]["total"]
            wrong += plan_fails(instance, answer)
        status, cost, _ = Model(instance).solve(options.seconds, options.workers)
        facts["outside"], facts["proved"] = cost, status in ("optimal", "infeasible")
        facts["status"], facts["outcome"] = status, outcome
        if status == "infeasible" and has_plan:
            wrong.append("a plan of what is proved impossible")
        if status in ("optimal", "feasible") and outcome == "infeasible":
            wrong.append("called impossible, and there is a plan")
        if has_plan and status == "optimal":
            facts["equal"] = facts["ours"] == cost
            if facts["ours"] < cost:
                wrong.append(f"costs {facts['ours']}, less than the proved optimum {cost}")
            if answer["bound"] > cost:
                wrong.append(f"bound {answer['bound']} above the proved optimum {cost}")
            if outcome == "optimal" and facts["ours"] != cost:
                wrong.append(f"called best at {facts['ours']}, and {cost} is")
        if has_plan and status == "feasible" and answer["bound"] > cost:
            wrong.append(f"bound {answer['bound']} above a plan that costs {cost}")
        if not has_plan and status == "optimal" and outcome != "infeasible":
            facts["missed"] = True
        if options.keep and (wrong or (facts["proved"] and has_plan and not facts["equal"]) or facts.get("missed")):
            keep = pathlib.Path(options.keep)
            keep.mkdir(parents=True, exist_ok=True)
            kind = "wrong" if wrong else "worse"
            shutil.copyfile(file, keep / f"{kind}-{name.replace(' ', '-').replace('/', '_')}.json")
        return name, wrong, facts


def plan_fails(instance, answer):
    """Returns what is wrong with a plan by itself."""
    model = Model(instance)
    placements = answer["placements"]
    if len(placements) != len(model.activities):
        return ["not one placement for each activity"]
    if not model.possible or not model.fix(placements):
        return ["an activity stands where it cannot by itself"]
    status, cost, _ = model.solve(60, 1)
    if status != "optimal":
        return [f"the plan is {status} in the model"]
    if cost != answer["cost"]["total"]:
        return [f"the plan costs {cost} and says {answer['cost']['total']}"]
    return []


def planted(case):
    """Judges the judge: a planted plan fits, and costs what it is said to."""
    name, program, generate, _, _ = case
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        file, plan_file = folder / "instance.json", folder / "plan.json"
        run(program, "generate", *generate, "--out", str(file), "--plan", str(plan_file))
        instance, answer = json.loads(file.read_text()), json.loads(plan_file.read_text())
        wrong = plan_fails(instance, answer)
        facts = {"ours": answer["cost"]["total"], "outside": None, "equal": False, "proved": False}
        facts["status"], facts["outcome"] = "-", "planted"
        return name, wrong, facts


def sample(per_feature, together, squeezed):
    """Yields the fixed sample: (name, words for `generate`)."""
    def small(seed, count, *more):
        return [str(count), "--small", "--seed", str(seed), *more]

    for number, feature in enumerate(["", *FEATURES]):
        for seed in range(1, per_feature + 1):
            words = small(100 * number + seed, 5 + seed % 5, "--only", feature)
            yield f"{feature or 'plain'} {seed}", words
    for seed in range(1, together + 1):
        yield f"all {seed}", small(seed, 4 + seed % 9)
    for seed in range(1, squeezed + 1):
        yield f"squeezed {seed}", small(seed, 4 + seed % 6, "--squeeze")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=["sample", "many", "squeezed", "planted", "files"])
    parser.add_argument("files", nargs="*")
    parser.add_argument("--program", required=True)
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--first", type=int, default=1, help="the first seed")
    parser.add_argument("--epochs", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=30, help="for the outside solver, each instance")
    parser.add_argument("--workers", type=int, default=1, help="threads of the outside solver")
    parser.add_argument("--processes", type=int, default=2, help="instances at once")
    parser.add_argument("--least", type=float, default=0, help="the share in percent that must equal the proved optimum")
    parser.add_argument("--keep", help="a folder for instances that were judged wrong or worse")
    parser.add_argument("--verbose", action="store_true")
    options = parser.parse_args()

    def small(seed, *more):
        return [str(4 + seed % 9), "--small", "--seed", str(seed), *more]

    seeds = range(options.first, options.first + options.count)
    if options.what == "files":
        cases = [(pathlib.Path(it).stem, options.program, None, it, options) for it in options.files]
    elif options.what == "many":
        cases = [(f"all {seed}", options.program, small(seed), None, options) for seed in seeds]
    elif options.what == "squeezed":
        cases = [(f"squeezed {s}", options.program, small(s, "--squeeze"), None, options) for s in seeds]
    else:
        chosen = sample(3, 30, 24)
        if options.what == "planted":
            chosen = (it for it in chosen if "--squeeze" not in it[1])
        cases = [(name, options.program, words, None, options) for name, words in chosen]

    begun = time.monotonic()
    table = {}
    failed = 0
    with multiprocessing.Pool(options.processes) as pool:
        work = planted if options.what == "planted" else judge
        for name, wrong, facts in pool.imap(work, cases):
            kind = name.rsplit(" ", 1)[0]
            row = table.setdefault(kind, {"all": 0, "plans": 0, "proved": 0, "equal": 0, "missed": 0, "none": 0})
            row["all"] += 1
            row["plans"] += facts["ours"] is not None
            row["proved"] += facts["status"] == "optimal"
            row["none"] += facts["status"] == "infeasible"
            row["equal"] += facts["equal"]
            row["missed"] += facts.get("missed", False)
            failed += bool(wrong)
            if wrong or options.verbose or facts.get("missed"):
                said = "; ".join(wrong) or ("no plan, and there is one" if facts.get("missed") else "")
                print(f"{name}: ours {facts['outcome']} {facts['ours']}, outside {facts['status']} {facts['outside']} {said}", flush=True)
    print(f"{'':12}{'all':>6}{'plans':>7}{'optimum proved':>16}{'ours equal':>12}{'none found':>12}{'impossible':>12}")
    total = dict.fromkeys(["all", "plans", "proved", "equal", "missed", "none"], 0)
    for kind, row in itertools.chain(table.items(), [("together", total)]):
        print(f"{kind:12}{row['all']:6}{row['plans']:7}{row['proved']:16}{row['equal']:12}{row['missed']:12}{row['none']:12}")
        if row is not total:
            for key, value in row.items():
                total[key] += value
    short = total["proved"] and 100 * total["equal"] < options.least * total["proved"]
    if total["proved"]:
        print(f"equal to the proved optimum: {100 * total['equal'] / total['proved']:.1f} % of {total['proved']}")
    print(f"{failed} judged wrong, {time.monotonic() - begun:.0f} s")
    if short:
        print(f"that is less than the {options.least:g} % asked for")
    sys.exit(1 if failed or short else 0)


if __name__ == "__main__":
    main()
