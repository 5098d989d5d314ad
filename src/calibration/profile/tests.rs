//! What a profile says, of whom it is, and how it is kept.

use super::*;
use crate::calibration::MarkRow;
use crate::fault::Outcome;
use crate::space::Point;

fn rows(px: [[f64; 2]; 4]) -> [MarkRow; 4] {
    let table = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]];
    std::array::from_fn(|k| MarkRow {
        table: Point::from(table[k]),
        projector: Point::from(px[k]),
    })
}

#[test]
fn a_mirrored_order_is_asked_about() {
    let reads = rows([
        [100.0, 900.0],
        [1800.0, 950.0],
        [1700.0, 100.0],
        [200.0, 120.0],
    ]);
    let mirrored = rows([
        [1800.0, 950.0],
        [100.0, 900.0],
        [200.0, 120.0],
        [1700.0, 100.0],
    ]);
    let size = [1920, 1080];
    assert!(Profile::of_four(&reads, size, false).is_ok());
    assert!(Profile::of_four(&mirrored, size, true).is_ok());
    let said = Profile::of_four(&mirrored, size, false)
        .unwrap_err()
        .to_string();
    assert!(said.contains("--mirror-rig"), "{said}");
    assert!(Profile::of_four(&reads, size, true).is_err());
}

#[test]
fn a_profile_means_the_same_whatever_its_scale() {
    let four = rows([
        [100.0, 900.0],
        [1800.0, 950.0],
        [1700.0, 100.0],
        [200.0, 120.0],
    ]);
    let profile = Profile::of_four(&four, [1920, 1080], false).unwrap();
    let mut turned = profile.clone();
    for v in turned.table_to_projector.iter_mut().flatten() {
        *v *= -2.5;
    }
    let (a, b) = (profile.mapping().unwrap(), turned.mapping().unwrap());
    for r in four {
        let (p, q) = (
            a.pixel(r.table, 0.0).unwrap(),
            b.pixel(r.table, 0.0).unwrap(),
        );
        assert!((p - q).length() < 1e-9);
    }
    turned.mirror_rig = true;
    assert!(
        turned
            .mapping()
            .unwrap_err()
            .to_string()
            .contains("mirror_rig")
    );
}

#[test]
fn another_output_or_size_is_said() {
    let four = rows([
        [100.0, 900.0],
        [1800.0, 950.0],
        [1700.0, 100.0],
        [200.0, 120.0],
    ]);
    let mut profile = Profile::of_four(&four, [1920, 1080], false).unwrap();
    assert_eq!(profile.fits("HDMI-1", [1920, 1080]), None);
    let said = profile.fits("HDMI-1", [1280, 720]).unwrap();
    assert!(
        said.contains("1920 × 1080") && said.contains("1280 × 720"),
        "{said}"
    );
    profile.made = Some("2031-05-17".to_owned());
    profile.output = Some("HDMI-1".to_owned());
    assert_eq!(profile.fits("HDMI-1", [1920, 1080]), None);
    let said = profile.fits("DP-2", [1920, 1080]).unwrap();
    assert!(
        said.contains("of 2031-05-17 was made on the output HDMI-1, and this is DP-2"),
        "{said}"
    );
}

#[test]
fn what_was_looked_at_is_kept_and_older_files_are_read() {
    let four = rows([
        [100.0, 900.0],
        [1800.0, 950.0],
        [1700.0, 100.0],
        [200.0, 120.0],
    ]);
    let plain = Profile::of_four(&four, [1920, 1080], false).unwrap();
    let text = toml::to_string(&plain).unwrap();
    // Nothing new is written of what was not looked at.
    let keys = [
        "made",
        "output",
        "effective",
        "least",
        "colour",
        "checked",
        "[[check]]",
    ];
    for new in keys {
        assert!(!text.contains(new), "{text}");
    }
    assert_eq!(toml::from_str::<Profile>(&text).unwrap(), plain);
    assert_eq!(plain.finest(), 1.0);
    let full = Profile {
        made: Some("2031-05-17".to_owned()),
        output: Some("HDMI-1".to_owned()),
        effective_px: Some([0.98, 1.25]),
        least_code: Some(6),
        colour_lines_clean: Some(false),
        checked: Some(CheckedFile {
            furthest_mm: -0.5,
            tolerance_mm: 1.4,
            readings: 4,
        }),
        checks: vec![CheckFile {
            day: "2031-06-01".to_owned(),
            marks: 3,
            rms_mm: Some(4.25),
            finding: "shift".to_owned(),
        }],
        ..plain
    };
    let text = toml::to_string(&full).unwrap();
    assert_eq!(toml::from_str::<Profile>(&text).unwrap(), full);
    assert_eq!(full.finest(), 1.25);
}

/// As a person may write one: words of their own, keys in any order, numbers in several spellings.
/// The checksum is by another program, from what is said in `sealed` of how it is made.
const BY_HAND: &str = r#"# A person's own words.
ghostchalk_profile = 2
checksum = "2f3e1173" # and here
mirror_rig = true
projector_px = [1920, 1080]
output = "HDMI-1 über Eck"
table_to_projector = [[-1.25, 0, 1900], [0.0, -1.25, 1_050.0], [1e-6, -0.0, 1]]
least_code = 6
colour_lines_clean = false

[lens]
focal_px = 1820
centre_px = [930.5, 930.0]
k1 = -0.06

[[mark]]
name = "A1"
table_mm = [20, 20.5]
projector_px = [268.3081636944929, 1009.3855659992233]

[[check]]
day = "2031-06-01"
marks = 3
rms_mm = 4.25
finding = "shift"
"#;

fn read(text: &str) -> Outcome<Profile> {
    toml::from_str::<AsWritten>(text).unwrap().checked()
}

#[test]
fn the_checksum_is_of_what_is_said_not_of_how_it_is_written() {
    let profile = read(BY_HAND).unwrap();
    let text = toml::to_string(&profile).unwrap();
    assert!(text.contains("\nchecksum = \"2f3e1173\"\n"), "{text}");
    assert_eq!(read(&text), Ok(profile.clone()));
    // Said, what would be so without it; and other words.
    let other = BY_HAND
        .replace("k1 = -0.06", "k1 = -6e-2\nk2 = 0.0")
        .replace("A person's own", "Other");
    assert_eq!(read(&other), Ok(profile));
}

#[test]
fn one_changed_digit_is_told_and_a_person_who_meant_it_can_say_so() {
    let meant = BY_HAND.replace("k1 = -0.06", "k1 = -0.16");
    let said = read(&meant).unwrap_err().to_string();
    assert!(said.contains("changed since Ghostchalk wrote it"), "{said}");
    let wanted = said.split("checksum = \"").nth(1).unwrap();
    let meant = meant.replace("2f3e1173", &wanted[..8]);
    assert_eq!(read(&meant).unwrap().lens.unwrap().k1, -0.16);
    // Whoever reads it, by whatever way.
    let changed = BY_HAND.replace("20.5", "20.6");
    let said = toml::from_str::<Profile>(&changed).unwrap_err();
    assert!(
        said.to_string()
            .contains("changed since Ghostchalk wrote it")
    );
}

#[test]
fn a_file_of_the_version_without_a_checksum_is_read_and_no_other() {
    let sum = "checksum = \"2f3e1173\" # and here\n";
    let without = BY_HAND.replace(sum, "");
    let said = read(&without).unwrap_err().to_string();
    assert!(
        said.contains("no checksum") && said.contains("checksum = \"2f3e1173\""),
        "{said}"
    );
    let older = without.replace("profile = 2", "profile = 1");
    assert_eq!(read(&older), read(BY_HAND));
    // The version is a part of what is said.
    assert!(read(&BY_HAND.replace("profile = 2", "profile = 1")).is_err());
    // What is written has one.
    let text = toml::to_string(&read(&older).unwrap()).unwrap();
    assert!(text.contains("profile = 2") && text.contains("2f3e1173"));
}

#[test]
fn what_is_added_to_a_text_has_the_right_checksum_and_all_else_stays() {
    let profile = Profile {
        made: Some("2031-06-02".to_owned()),
        ..read(BY_HAND).unwrap()
    };
    let added = BY_HAND.replace("least_code", "made = \"2031-06-02\"\nleast_code");
    assert!(read(&added).is_err());
    let sealed = profile.sealed_anew(added.clone()).unwrap();
    assert_eq!(read(&sealed), Ok(profile.clone()));
    let changed = added.lines().zip(sealed.lines()).filter(|(a, b)| a != b);
    let changed: Vec<_> = changed.collect();
    assert_eq!(changed.len(), 1, "{changed:?}");
    assert!(changed[0].1.ends_with("\" # and here"), "{changed:?}");
    assert!(profile.sealed_anew("checksum = ".to_owned()).is_err());
    assert!(profile.sealed_anew("least_code = 3\n".to_owned()).is_err());
    // One of the version that had none has both.
    let profile = read(BY_HAND).unwrap();
    let sum = "checksum = \"2f3e1173\" # and here\n";
    let older = BY_HAND
        .replace(sum, "")
        .replace("profile = 2", "profile = 1");
    let sealed = profile.sealed_anew(older).unwrap();
    assert_eq!(sealed, BY_HAND.replace(" # and here", ""));
    assert_eq!(read(&sealed), Ok(profile.clone()));
    // Also where nothing stands below.
    let sealed = profile.sealed_anew("a = 1\nghostchalk_profile = 1 # x".to_owned());
    let want = "a = 1\nghostchalk_profile = 2 # x\nchecksum = \"2f3e1173\"\n";
    assert_eq!(sealed.unwrap(), want);
}
