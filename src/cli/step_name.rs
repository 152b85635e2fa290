//! Which step a cook means by what they typed.

use crate::plan::{Plan, StepIndex};
use crate::sheets::plain::clean;

/// The most choices listed.
const CHOICES: usize = 8;

/// Returns the one step a text means, or says what it could mean.
///
/// The full name always wins; then a whole tail of it (`poach` of `pears/poach`), then any part, of names and
/// of what stands on the sheet. One of these that fits exactly one step is enough.
pub(super) fn find(plan: &Plan, text: &str) -> Result<StepIndex, String> {
    let wanted = text.trim().to_lowercase();
    let keys: Vec<String> = plan
        .steps
        .iter()
        .map(|step| step.key.to_string().to_lowercase())
        .collect();
    let fitting = |fits: &dyn Fn(usize) -> bool| -> Vec<StepIndex> {
        (0..keys.len()).filter(|&step| fits(step)).collect()
    };
    let shown = |steps: &[StepIndex]| {
        let mut names: Vec<String> = steps
            .iter()
            .take(CHOICES)
            .map(|&step| clean(&plan.steps[step].key.to_string()))
            .collect();
        if steps.len() > CHOICES {
            names.push(format!("and {} more", steps.len() - CHOICES));
        }
        names.join(", ")
    };
    if !wanted.is_empty() {
        let by: [&dyn Fn(usize) -> bool; 4] = [
            &|step| keys[step] == wanted,
            &|step| is_tail(&keys[step], &wanted),
            &|step| keys[step].contains(&wanted),
            &|step| plan.steps[step].name.to_lowercase().contains(&wanted),
        ];
        for fits in by {
            match fitting(fits).as_slice() {
                [] => {}
                [only] => return Ok(*only),
                several => {
                    return Err(format!(
                        "\"{text}\" could be {}; write more of the name",
                        shown(several)
                    ));
                }
            }
        }
    }
    if keys.is_empty() {
        return Err("this menu has no steps yet".to_owned());
    }
    let mut nearest: Vec<StepIndex> = (0..keys.len()).collect();
    nearest.sort_by_key(|&step| {
        let tail = keys[step].rsplit('/').next().unwrap_or("");
        strsim::damerau_levenshtein(&keys[step], &wanted)
            .min(strsim::damerau_levenshtein(tail, &wanted))
    });
    nearest.truncate(CHOICES);
    Err(format!(
        "there is no step \"{text}\"; the nearest are {}",
        shown(&nearest)
    ))
}

/// Returns whether `tail` ends `key` and begins at one of its parts.
fn is_tail(key: &str, tail: &str) -> bool {
    key.strip_suffix(tail)
        .is_some_and(|before| before.is_empty() || before.ends_with(['/', ':']))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{PlannedStep, StepKey};
    use crate::time::{Date, Local, Minute, ServiceTime, TimeOfDay, Window, Zone};

    fn plan(keys: &[&str]) -> Plan {
        let service = Local {
            date: Date::from_ymd_opt(2026, 11, 28).expect("a date"),
            time: TimeOfDay::MIN,
        };
        let steps = keys
            .iter()
            .map(|text| {
                let key: StepKey = text.parse().expect("a key");
                PlannedStep {
                    name: format!("Now {}", key.step),
                    key,
                    dish: 0,
                    step: 0,
                    window: Window::default(),
                    can_slip_until: Minute(0),
                    hands: Vec::new(),
                    kit: Vec::new(),
                    someone_about: false,
                    station: None,
                    reason: String::new(),
                    follows: Vec::new(),
                    followed_by: Vec::new(),
                    happened: None,
                }
            })
            .collect();
        Plan {
            service: ServiceTime::new(service, Zone::UTC),
            steps,
            order: Vec::new(),
            dishes: Vec::new(),
            courses: Vec::new(),
            openings: Vec::new(),
            nights: Vec::new(),
            shifts: Vec::new(),
            span: Window::default(),
        }
    }

    const KEYS: [&str; 7] = [
        "pears/poach",
        "pears/poach~2",
        "quince/boil",
        "quince/boil~2",
        "quince/boil-syrup",
        "ice/colour:rose",
        "figs/poach-figs",
    ];

    #[test]
    fn a_part_that_fits_one_step_is_enough() {
        let plan = plan(&KEYS);
        for (text, key) in [
            ("pears/poach", "pears/poach"),
            ("poach", "pears/poach"),
            (" Poach ", "pears/poach"),
            ("poach~2", "pears/poach~2"),
            ("boil~2", "quince/boil~2"),
            ("syrup", "quince/boil-syrup"),
            ("rose", "ice/colour:rose"),
            ("figs", "figs/poach-figs"),
            ("now colour", "ice/colour:rose"),
        ] {
            let found = find(&plan, text).map(|step| plan.steps[step].key.to_string());
            assert_eq!(found.as_deref(), Ok(key), "{text}");
        }
    }

    #[test]
    fn what_fits_several_or_none_lists_the_choices() {
        let plan = plan(&KEYS);
        assert_eq!(
            find(&plan, "quince"),
            Err(
                "\"quince\" could be quince/boil, quince/boil~2, quince/boil-syrup; write more of \
                 the name"
                    .into()
            )
        );
        let none = find(&plan, "paoch").expect_err("no step");
        assert!(
            none.starts_with("there is no step \"paoch\"; the nearest are pears/poach,"),
            "{none}"
        );
        assert!(find(&plan, "").is_err());
        assert!(find(&super::tests::plan(&[]), "x").is_err());
    }
}
