//! Which step a cook means by what they typed.

use crate::plan::Named;
use crate::text::one_line;

/// The most choices listed.
const CHOICES: usize = 8;

/// Returns the one step a text means, or says what it could mean.
///
/// The full name always wins; then a whole tail of it (`poach` of `pears/poach`), then any part, of names and
/// of what stands on the sheet. One of these that fits exactly one step is enough. No plan is asked: what a
/// menu wants done has a name before it has a time.
pub(super) fn find<'a>(steps: &'a [Named], text: &str) -> Result<&'a Named, String> {
    let wanted = text.trim().to_lowercase();
    let keys: Vec<String> = steps
        .iter()
        .map(|step| step.key.to_string().to_lowercase())
        .collect();
    let fitting = |fits: &dyn Fn(usize) -> bool| -> Vec<usize> {
        (0..keys.len()).filter(|&step| fits(step)).collect()
    };
    let shown = |found: &[usize]| {
        let mut names: Vec<String> = found
            .iter()
            .take(CHOICES)
            .map(|&step| one_line(&steps[step].key.to_string()))
            .collect();
        if found.len() > CHOICES {
            names.push(format!("and {} more", found.len() - CHOICES));
        }
        names.join(", ")
    };
    if !wanted.is_empty() {
        let by: [&dyn Fn(usize) -> bool; 4] = [
            &|step| keys[step] == wanted,
            &|step| is_tail(&keys[step], &wanted),
            &|step| keys[step].contains(&wanted),
            &|step| steps[step].name.to_lowercase().contains(&wanted),
        ];
        for fits in by {
            match fitting(fits).as_slice() {
                [] => {}
                [only] => return Ok(&steps[*only]),
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
    let mut nearest: Vec<usize> = (0..keys.len()).collect();
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
    use crate::plan::StepKey;

    fn named(keys: &[&str]) -> Vec<Named> {
        keys.iter()
            .map(|text| {
                let key: StepKey = text.parse().expect("a key");
                Named {
                    name: format!("Now {}", key.step),
                    key,
                    dish: 0,
                    step: 0,
                }
            })
            .collect()
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
        let steps = named(&KEYS);
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
            let found = find(&steps, text).map(|step| step.key.to_string());
            assert_eq!(found.as_deref(), Ok(key), "{text}");
        }
    }

    #[test]
    fn what_fits_several_or_none_lists_the_choices() {
        let steps = named(&KEYS);
        assert_eq!(
            find(&steps, "quince"),
            Err(
                "\"quince\" could be quince/boil, quince/boil~2, quince/boil-syrup; write more of \
                 the name"
                    .into()
            )
        );
        let none = find(&steps, "paoch").expect_err("no step");
        assert!(
            none.starts_with("there is no step \"paoch\"; the nearest are pears/poach,"),
            "{none}"
        );
        assert!(find(&steps, "").is_err());
        assert!(find(&[], "x").is_err());
    }
}
