//! Who writes, and where: what the machine says, for the book.

use std::env;

/// Returns the user name the machine gives, or nothing.
pub(super) fn name() -> String {
    first_of(&["USER", "LOGNAME", "USERNAME"])
}

/// Returns the machine's name, or nothing.
#[allow(clippy::disallowed_methods, reason = "where the system says its name")]
pub(super) fn place() -> String {
    let from_file = ["/proc/sys/kernel/hostname", "/etc/hostname"]
        .iter()
        .find_map(|path| std::fs::read_to_string(path).ok())
        .map(|text| text.trim().to_owned())
        .filter(|name| !name.is_empty());
    from_file.unwrap_or_else(|| first_of(&["HOSTNAME", "COMPUTERNAME"]))
}

fn first_of(variables: &[&str]) -> String {
    variables
        .iter()
        .filter_map(env::var_os)
        .map(|value| value.to_string_lossy().into_owned())
        .find(|value| !value.is_empty())
        .unwrap_or_default()
}
