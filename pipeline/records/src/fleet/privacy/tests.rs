use super::*;

#[test]
fn the_same_key_gives_the_same_id_and_only_the_owner_reads_it() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let path = folder.path().join("privacy.key");
    let first = Privacy::new(Rekey::Auto, Identifying::Drop, path.clone());
    let kept = first.id("f000017").expect("kept");
    assert_eq!(kept, "f000017");
    assert!(!path.exists(), "no id needed a key yet");
    let hashed = first.id("F-ABCD").expect("hashed");
    assert_ne!(hashed, "F-ABCD");
    let again = Privacy::new(Rekey::Always, Identifying::Drop, path.clone());
    assert_eq!(again.id("F-ABCD").expect("hashed"), hashed);
    #[cfg(unix)]
    {
        let mode = std::fs::metadata(&path).expect("made").permissions();
        assert_eq!(
            std::os::unix::fs::PermissionsExt::mode(&mode) & 0o777,
            0o600
        );
    }
}

#[test]
fn a_day_is_never_stored_and_every_writing_of_it_is_one_key() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let path = folder.path().join("privacy.key");
    let privacy = Privacy::new(Rekey::Never, Identifying::Drop, path.clone());
    let key = |text: &str| privacy.day_key(text).expect("a key");
    assert_eq!(key("d41"), "d41");
    assert!(!path.exists(), "an opaque day key needs no key");
    let hashed = key("2025-03-04");
    assert_eq!(
        (hashed.len(), hashed.contains("2025")),
        (KEPT_DIGITS, false)
    );
    assert_eq!(key("4.3.2025"), hashed);
    assert_ne!(key("2025-03-05"), hashed);
    let id = Privacy::new(Rekey::Always, Identifying::Drop, path).id("2025-03-04");
    assert_ne!(id.expect("hashed"), hashed, "a day is no id");
}

#[test]
fn the_fingerprint_tells_keys_apart_and_is_none_without_one() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let print = |name: &str, byte: Option<u8>| {
        let path = folder.path().join(name);
        if let Some(byte) = byte {
            std::fs::write(&path, [byte; KEY_BYTES]).expect("written");
        }
        Privacy::new(Rekey::Auto, Identifying::Drop, path).fingerprint()
    };
    assert_eq!(print("none.key", None), None);
    assert!(
        !folder.path().join("none.key").exists(),
        "asking makes no key"
    );
    let one = print("a.key", Some(1));
    assert_eq!(one.as_deref().map(str::len), Some(KEPT_DIGITS));
    assert_eq!(one, print("same.key", Some(1)));
    assert_ne!(one, print("b.key", Some(2)));
    std::fs::write(folder.path().join("short.key"), [1; 5]).expect("written");
    assert_eq!(print("short.key", None), None);
}

#[cfg(unix)]
#[test]
fn a_key_that_others_can_reach_is_told() {
    let folder = tempfile::tempdir().expect("temporary folder");
    let records = folder.path().join("records");
    std::fs::create_dir(&records).expect("made");
    let notes = |path: &Path, mode: u32| {
        std::fs::write(path, [1; KEY_BYTES]).expect("written");
        let mode = std::os::unix::fs::PermissionsExt::from_mode(mode);
        std::fs::set_permissions(path, mode).expect("set");
        let mut notes = Vec::new();
        let privacy = Privacy::new(Rekey::Auto, Identifying::Drop, path.to_owned());
        privacy.check_key_file(Some(&records), &mut notes);
        notes
    };
    let safe = folder.path().join("privacy.key");
    assert_eq!(notes(&safe, 0o600), Vec::<String>::new());
    let open = notes(&safe, 0o644);
    assert!(open.len() == 1 && open[0].contains("mode 644"), "{open:?}");
    let inside = notes(&records.join("privacy.key"), 0o600);
    assert!(
        inside.len() == 1 && inside[0].contains("records folder"),
        "{inside:?}"
    );
}
