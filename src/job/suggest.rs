//! What a person may have meant by a word that is not known.
//!
//! Must not decide; it only proposes.

/// Largest share of letters that may differ (own judgement).
const FURTHEST: f64 = 0.4;

/// A word in the spelling of ids: lower case, blanks and hyphens as underscores.
pub(super) fn plain(text: &str) -> String {
    text.trim()
        .chars()
        .map(|c| match c {
            ' ' | '-' | '\u{a0}' => '_',
            c => c,
        })
        .flat_map(char::to_lowercase)
        .collect()
}

/// The nearest of the known words, if one is near: fewest letters changed, swapped, missing
/// or added (Damerau-Levenshtein), the first of several.
pub(super) fn did_you_mean<'k>(
    text: &str,
    known: impl Iterator<Item = &'k str>,
) -> Option<&'k str> {
    /// Longer texts are no misspelt ids, and the comparison is quadratic.
    const LONGEST: usize = 60;
    let folded = plain(text);
    let letters = folded.chars().count();
    if letters == 0 || letters > LONGEST {
        return None;
    }
    let furthest = ((letters as f64 * FURTHEST) as usize).max(1);
    known
        .map(|word| (strsim::osa_distance(&folded, word), word))
        .filter(|(distance, _)| *distance <= furthest)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_words_are_proposed_and_far_ones_are_not() {
        let known = ["plug_glow_time", "plug_current_total", "smoke"];
        let ask = |text| did_you_mean(text, known.iter().copied());
        assert_eq!(ask("plug_glow_tme"), Some("plug_glow_time"));
        assert_eq!(ask("Plug glow time"), Some("plug_glow_time"));
        assert_eq!(ask("smkoe"), Some("smoke"));
        assert_eq!(ask("gearbox"), None);
        assert_eq!(ask(""), None);
        assert_eq!(ask(&"x".repeat(5000)), None);
    }
}
