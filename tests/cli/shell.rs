//! What shells and `man` read, and what the program says that it is.

use super::*;

/// The build script's own: what a release is stamped with.
#[allow(dead_code)]
#[path = "../../build.rs"]
mod build;

/// Each command, as the help lists them.
fn commands() -> Vec<String> {
    let help = stdout(&run(&["--help"]));
    let (_, listed) = help.split_once("Commands:\n").unwrap();
    let lines = listed.lines().take_while(|l| !l.is_empty());
    let names = lines.filter_map(|l| l.strip_prefix("  ")?.split_once(' '));
    let names = names.map(|(name, _)| name.to_owned());
    names.filter(|n| !n.is_empty() && n != "help").collect()
}

#[test]
fn a_page_for_each_command_and_words_for_each_shell() {
    let b = Bench::new();
    let out = b.str("papers");
    let o = run(&["shell", "--out", &out, "--json"]);
    assert_eq!(o.status.code(), Some(0), "{}", sentences(&o));
    let told: serde_json::Value = serde_json::from_str(&stdout(&o)).unwrap();
    let commands = commands();
    assert!(commands.len() > 20, "{commands:?}");
    // One more page, of the program itself.
    let written = told["written"].as_array().unwrap().len();
    assert_eq!(written, 5 + 1 + commands.len());

    let page = |name: &str| {
        let path = b.path("papers/man1").join(format!("{name}.1"));
        let text = std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{name}: {e}"));
        text.replace("\\-", "-")
    };
    let whole = page("ghostchalk");
    for command in &commands {
        let text = page(&format!("ghostchalk-{command}"));
        assert!(whole.contains(&format!("ghostchalk-{command}(1)")));
        assert!(text.contains(&format!("ghostchalk {command}")), "{text}");
        assert!(text.contains("Example"), "{text}");
        let help = stdout(&run(&[command, "--help"]));
        let options = help.lines().filter_map(|l| {
            let at = l.trim_start().starts_with('-').then(|| l.find("--"))??;
            l[at..].split([' ', ',', '=', '[']).next()
        });
        for option in options {
            assert!(text.contains(option), "{command}: {option}: {text}");
        }
    }

    let names = |text: &str, name: &str| {
        let apart = |c: char| !(c.is_alphanumeric() || c == '-' || c == '_');
        text.split(apart).any(|word| word == name)
    };
    for file in [
        "ghostchalk.bash",
        "_ghostchalk",
        "ghostchalk.fish",
        "ghostchalk.elv",
        "_ghostchalk.ps1",
    ] {
        let text = std::fs::read_to_string(b.path("papers/completions").join(file)).unwrap();
        for command in &commands {
            assert!(names(&text, command), "{file} does not know {command}");
        }
        assert!(text.contains("rehearse") && text.contains("profile"));
    }

    // They are made again over themselves, and over nothing else.
    assert!(run(&["shell", "--out", &out]).status.success());
    b.write("papers/completions/_ghostchalk", "a shopping list");
    refused(&["shell", "--out", &out], "_ghostchalk");
    let file = b.write("notes", "");
    refused(&["shell", "--out", &file], "notes");
}

fn sentences(o: &Output) -> String {
    String::from_utf8_lossy(&o.stderr).into_owned()
}

#[test]
fn version_is_one_line_and_at_length_names_what_draws() {
    let stamp = env!("GHOSTCHALK_STAMP");
    assert!(
        stamp == "debug build" || stamp == "unknown commit" || stamp.starts_with("commit "),
        "{stamp}"
    );
    let line = format!("ghostchalk {} ({stamp})", env!("CARGO_PKG_VERSION"));
    let o = run(&["-V"]);
    assert_eq!(o.status.code(), Some(0));
    assert_eq!(stdout(&o), format!("{line}\n"));

    let o = run(&["--version"]);
    assert_eq!(o.status.code(), Some(0));
    let text = stdout(&o);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 3, "{text}");
    assert_eq!(lines[0], line);
    assert!(lines[1].starts_with("Built for "), "{text}");
    // The tests want a driver, so there is one.
    let draws = lines[2].strip_prefix("Draws on ").unwrap();
    assert!(
        !draws.starts_with("nothing") && draws.contains('('),
        "{text}"
    );
}

/// Asking for a driver that this system cannot have is a machine without one.
#[cfg(target_os = "linux")]
#[test]
fn a_machine_without_a_driver_has_a_version_too() {
    let _born = OPEN.read().unwrap_or_else(PoisonError::into_inner);
    let o = Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
        .arg("--version")
        .env("WGPU_BACKEND", "metal")
        .output()
        .unwrap();
    assert_eq!(o.status.code(), Some(0));
    let text = stdout(&o);
    assert!(
        text.contains("Draws on nothing: no graphics driver was found; install"),
        "{text}"
    );
}

#[test]
fn a_release_is_stamped_with_its_commit() {
    let _born = OPEN.read().unwrap_or_else(PoisonError::into_inner);
    let b = Bench::new();
    let here = b.path("sources");
    std::fs::create_dir_all(here.join("src")).unwrap();
    b.write("sources/src/lib.rs", "// one\n");
    assert_eq!(build::stamp(&here), "unknown commit");

    let git = |words: &[&str]| {
        let who = ["-c", "user.name=A", "-c", "user.email=a@b.invalid"];
        let mut git = Command::new("git");
        let git = git.args(who).args(["-c", "commit.gpgsign=false"]);
        let done = git.args(words).current_dir(&here).output();
        done.is_ok_and(|o| o.status.success())
    };
    // Where there is no git, all that can be said has been said.
    if git(&["init", "-q"]) {
        assert!(git(&["add", "."]) && git(&["commit", "-q", "-m", "one"]));
        let clean = build::stamp(&here);
        let id = clean.strip_prefix("commit ").unwrap();
        assert!(
            id.len() >= 4 && id.chars().all(|c| c.is_ascii_hexdigit()),
            "{clean}"
        );
        // The branch is watched, and nothing that is not there: that would build all anew each time.
        let watched = build::watched(&here);
        assert!(watched.iter().all(|f| f.exists()), "{watched:?}");
        for part in [".git/HEAD", ".git/refs/heads", "src"] {
            let seen = watched.iter().any(|f| {
                let path = f.to_string_lossy().replace('\\', "/");
                path.contains(part)
            });
            assert!(seen, "{part}: {watched:?}");
        }
        // What is not built makes no difference.
        b.write("sources/notes.txt", "");
        assert_eq!(build::stamp(&here), clean);
        b.write("sources/src/lib.rs", "// two\n");
        assert_eq!(build::stamp(&here), format!("{clean}+"));
        // A copy inside it is not of its commit.
        std::fs::create_dir(here.join("copy")).unwrap();
        assert_eq!(build::stamp(&here.join("copy")), "unknown commit");
    }

    let noted = |dirty: &str| {
        format!("{{\n  \"git\": {{\n    \"sha1\": \"0123456789abcdef\"{dirty}\n  }}\n}}\n")
    };
    b.write("sources/.cargo_vcs_info.json", noted(""));
    assert_eq!(build::stamp(&here), "commit 0123456");
    b.write(
        "sources/.cargo_vcs_info.json",
        noted(",\n    \"dirty\": true"),
    );
    assert_eq!(build::stamp(&here), "commit 0123456+");
}

/// The files under a folder, from there.
#[cfg(target_os = "linux")]
fn files(root: &Path) -> Vec<String> {
    let mut found = Vec::new();
    let mut folders = vec![root.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let inside = path.strip_prefix(root).unwrap();
                found.push(inside.to_str().unwrap().to_owned());
            }
        }
    }
    found
}

#[cfg(target_os = "linux")]
#[test]
fn what_is_installed_is_taken_away_and_nothing_else() {
    use std::os::unix::fs::PermissionsExt;
    let b = Bench::new();
    // The program itself is large; this one calls it. While it is open to be written no child is
    // born, for a file that anyone writes to can't be run.
    let none_is_born = alone();
    let call = format!(
        "#!/bin/sh\nexec '{}' \"$@\"\n",
        env!("CARGO_BIN_EXE_ghostchalk")
    );
    let program = b.write("program", call);
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
    drop(none_is_born);

    let _born = OPEN.read().unwrap_or_else(PoisonError::into_inner);
    let install = |words: &[&str]| {
        let o = Command::new("bash")
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .arg("install/linux")
            .args(words)
            .env("GHOSTCHALK", &program)
            .env_remove("DESTDIR")
            .output()
            .unwrap();
        (o.status.code(), sentences(&o))
    };
    let place = b.str("a place");
    std::fs::create_dir_all(b.path("a place/share")).unwrap();
    b.write("a place/share/mine", "");
    // The second time it lies over itself.
    for _ in 0..2 {
        let (code, said) = install(&[&place]);
        assert_eq!(code, Some(0), "{said}");
        let there = files(Path::new(&place));
        for file in [
            "bin/ghostchalk",
            "share/man/man1/ghostchalk-cut-test.1",
            "share/bash-completion/completions/ghostchalk",
            "share/ghostchalk/demo-data/job.toml",
            "share/icons/hicolor/scalable/apps/ghostchalk.svg",
        ] {
            assert!(there.iter().any(|f| f == file), "{file}: {there:?}");
        }
    }
    let entry = std::fs::read_to_string(b.path("a place/share/applications/ghostchalk.desktop"));
    let starts = format!("Exec=\"{place}/share/ghostchalk/from-menu\" %f\n");
    assert!(entry.unwrap().contains(&starts));

    let (code, said) = install(&["--remove", &place]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(files(Path::new(&place)), ["share/mine"]);
    // A list that was tampered with reaches nowhere else.
    let outside = b.write("outside", "");
    std::fs::create_dir_all(b.path("a place/share/ghostchalk")).unwrap();
    b.write("a place/share/ghostchalk/installed", "../outside\n");
    let (code, said) = install(&["--remove", &place]);
    assert!(code == Some(1) && said.contains("not under"), "{said}");
    assert!(Path::new(&outside).exists());
}
