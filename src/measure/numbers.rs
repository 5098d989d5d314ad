//! Numbers as people type them, several at once.

use crate::fault::{Fault, Outcome};

/// What is typed beyond this, mm or px, is no place on any table or photo.
const MOST: f64 = 1e6;

/// As many numbers as one of `counts`, between commas or blanks; `what` they are is told.
///
/// # Errors
/// If there are more or fewer, or one is no number.
pub fn numbers(what: &str, text: &str, counts: &[usize]) -> Outcome<Vec<f64>> {
    let parts = text.split([',', ' ', ';']).filter(|t| !t.is_empty());
    let read: Option<Vec<f64>> = parts
        .map(|t| t.parse().ok().filter(|v: &f64| v.abs() < MOST))
        .collect();
    read.filter(|v| counts.contains(&v.len())).ok_or_else(|| {
        let counts: Vec<String> = counts.iter().map(usize::to_string).collect();
        Fault::input(
            format!("{what} is \"{}\"", text.trim()),
            format!(
                "write {} numbers with commas between them",
                counts.join(" or ")
            ),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_numbers_or_told() {
        assert_eq!(numbers("it", "950, 40", &[2, 3]).unwrap(), [950.0, 40.0]);
        assert_eq!(numbers("it", " -1,2.5 3", &[3]).unwrap(), [-1.0, 2.5, 3.0]);
        for bad in ["", "950", "950,x", "1,2,3,4", "1,1e9", "1,NaN"] {
            let said = numbers("it", bad, &[2, 3]).unwrap_err().to_string();
            assert!(said.contains("2 or 3 numbers"), "{said}");
        }
    }
}
