use std::collections::BTreeSet;
use std::path::PathBuf;

use miette::{GraphicalReportHandler, GraphicalTheme};

use super::*;

fn context() -> RuleContext {
    RuleContext::of(&records::catalogue::Catalogue::default())
}

fn top() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

const HEAD: &str = "version = 1\ntitle = \"t\"\nfamily = \"data\"\nwhy = \"w\"\nsource = \"s\"\n";

fn rule_text(id: &str, body: &str) -> RuleText {
    RuleText {
        path: format!("{id}.toml"),
        stem: id.to_owned(),
        text: format!("id = \"{id}\"\n{HEAD}{body}"),
    }
}

fn checked(body: &str) -> CheckedRule {
    let rules = check_pack(vec![rule_text("a_rule", body)], &context());
    rules
        .unwrap_or_else(|faults| panic!("{:?}", faults.faults))
        .remove(0)
}

fn faults(body: &str) -> Vec<Fault> {
    check_pack(vec![rule_text("a_rule", body)], &context())
        .expect_err("a fault")
        .faults
}

#[test]
fn the_shipped_pack_is_clean_and_complete() {
    let rules = builtin_pack(&context()).unwrap_or_else(|faults| panic!("{:?}", faults.faults));
    let from_folder = read_packs(&[top().join("rules")], &context());
    let from_folder = from_folder.unwrap_or_else(|faults| panic!("{:?}", faults.faults));
    let ids = |rules: &[CheckedRule]| rules.iter().map(|rule| rule.id.clone()).collect::<Vec<_>>();
    assert_eq!(ids(&rules), ids(&from_folder));
    let hashes: BTreeSet<_> = rules.iter().map(|rule| &rule.text_hash).collect();
    assert_eq!(hashes.len(), rules.len());
    assert!(ids(&rules).is_sorted());
}

#[test]
fn every_source_of_the_shipped_pack_says_how_sure_it_is() {
    let rules = builtin_pack(&context()).unwrap();
    for rule in &rules {
        let sure = [
            "(read)",
            "read)",
            "no source",
            "from memory",
            "(not read)",
            "approved flight manual",
            "Loss rates of the type file",
        ];
        assert!(
            sure.iter().any(|words| rule.source.contains(words)),
            "{}: {}",
            rule.id,
            rule.source
        );
    }
    assert!(rules.len() >= 45, "{} rules", rules.len());
    let core = rules
        .iter()
        .filter(|rule| rule.status == Status::Core)
        .count();
    assert!((18..=25).contains(&core), "{core} core rules");
    let families: BTreeSet<_> = rules.iter().map(|rule| rule.family.as_str()).collect();
    assert_eq!(families.len(), FAMILIES.len());
}

/// The keys that the schema for editors knows at a place of a rule file.
fn keys_in_schema(schema: &serde_json::Value, place: &str) -> BTreeSet<String> {
    let properties = schema.pointer(&format!("{place}/properties")).unwrap();
    properties.as_object().unwrap().keys().cloned().collect()
}

#[test]
fn the_schema_for_editors_knows_the_keys_that_are_read() {
    let text = std::fs::read_to_string(top().join("docs/rule.schema.json")).unwrap();
    let schema: serde_json::Value = serde_json::from_str(&text).unwrap();
    let places: [(&str, &[&str]); 8] = [
        ("", &raw::KEYS),
        ("/properties/episode", &raw::EPISODE_KEYS),
        ("/properties/gate", &raw::GATE_KEYS),
        ("/properties/change", &raw::CHANGE_KEYS),
        ("/properties/outcome", &raw::OUTCOME_KEYS),
        ("/properties/criterion/items", &raw::CRITERION_KEYS),
        ("/properties/levels/items", &raw::LEVEL_KEYS),
        ("/properties/override/items", &raw::OVERRIDE_KEYS),
    ];
    for (place, keys) in places {
        let keys: BTreeSet<String> = keys.iter().map(|key| (*key).to_owned()).collect();
        assert_eq!(keys_in_schema(&schema, place), keys, "{place}");
    }
    let families = schema.pointer("/properties/family/enum").unwrap();
    assert_eq!(*families, serde_json::json!(FAMILIES));
}

#[test]
fn every_bad_rule_says_what_is_wrong_and_where() {
    let folder = top().join("tests/bad-rules");
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(folder.join("messages"));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let mut files = Vec::new();
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "toml") {
            let stem = path.file_stem().unwrap().to_str().unwrap().to_owned();
            let text = std::fs::read_to_string(&path).unwrap();
            files.push(RuleText {
                path: format!("{stem}.toml"),
                stem,
                text,
            });
        }
    }
    assert!(files.len() >= 20);
    let faulty = check_pack(files.clone(), &context())
        .expect_err("faults")
        .faults;
    let handler = GraphicalReportHandler::new_themed(GraphicalTheme::unicode_nocolor())
        .with_width(100)
        .with_links(false);
    for file in &files {
        let mut shown = String::new();
        for fault in faulty.iter().filter(|fault| fault.path == file.path) {
            handler.render_report(&mut shown, fault).unwrap();
            shown.push('\n');
        }
        assert!(!shown.is_empty(), "{} has no fault", file.path);
        settings.bind(|| insta::assert_snapshot!(file.stem.as_str(), shown));
    }
}

#[test]
fn faults_of_all_files_come_together_sorted_by_place() {
    let files = vec![
        rule_text("two", "[episode]\nwithin = 'x_ft < 5'\nwhen = 'y_kt > 1'\n"),
        rule_text(
            "one",
            "[episode]\nwithin = 'true'\nwhen = 'cas_kt > 1'\nhould = '3s'\n",
        ),
    ];
    let faults = check_pack(files, &context()).expect_err("faults");
    let shown: Vec<_> = faults.faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        shown,
        [
            "one.toml:10:1: unknown key `hould` in [episode]",
            "two.toml:8:11: unknown column `x_ft`",
            "two.toml:9:9: unknown column `y_kt`",
        ]
    );
    assert_eq!(faults.to_string(), "3 faults in the rule files");
}

#[test]
fn places_count_characters_and_mind_the_trimmed_newline() {
    let text = |when: &str| format!("[episode]\nwithin = 'true'\nwhen = {when}\n");
    let place = |when: &str| {
        let fault = faults(&text(when)).remove(0);
        (fault.line, fault.column, fault.span.len())
    };
    assert_eq!(place("'nope > 1'"), (9, 9, 4));
    assert_eq!(place("'''nope > 1'''"), (9, 11, 4));
    assert_eq!(place("'''\nnope > 1'''"), (10, 1, 4));
    assert_eq!(place("'''\n  cas_kt > 1 and\n   nope > 1'''"), (11, 4, 4));
    assert_eq!(place("\"nope > 1\""), (9, 9, 4));
    // `é` is two bytes and one column.
    assert_eq!(place("'''approach_kind = 'é' and nope > 1'''"), (9, 35, 4));
    // Escapes make content and file differ: the whole content is shown.
    assert_eq!(place("\"\\u006eope > 1\""), (9, 9, 13));
}

#[test]
fn crlf_files_keep_their_places() {
    let body = "[episode]\nwithin = 'true'\nwhen = '''\ncas_kt > nope'''\n".replace('\n', "\r\n");
    let fault = faults(&body).remove(0);
    assert_eq!((fault.line, fault.column, fault.span.len()), (10, 10, 4));
}

#[test]
fn the_parts_of_a_gate_arrive() {
    let rules = builtin_pack(&context()).unwrap();
    let rule = rules
        .iter()
        .find(|rule| rule.id == "unstable_1000")
        .unwrap();
    let Shape::Gate {
        column,
        level,
        to,
        criteria,
        ..
    } = &rule.shape
    else {
        panic!("a gate")
    };
    assert_eq!(
        (column.as_str(), *level, *to),
        ("height_aal_ft", 1000.0, Some(50.0))
    );
    let names: Vec<_> = criteria
        .iter()
        .map(|criterion| criterion.name.as_str())
        .collect();
    let wanted = [
        "speed",
        "sink",
        "glide_path",
        "localizer",
        "flap",
        "gear",
        "thrust",
        "bank",
    ];
    assert_eq!(names, wanted);
    assert_eq!(criteria[0].grace_s, 3.0);
    assert_eq!(criteria[0].lower.as_ref().unwrap().sql, "0");
    assert!(criteria[2].applies.is_some());
    assert!(rule.inputs().contains("approach_kind"));
    assert_eq!(rule.levels[0].name, LevelName::High);
    assert_eq!(rule.coverage, 0.9);
}

#[test]
fn only_what_the_verdict_needs_is_required() {
    let rules = builtin_pack(&context()).unwrap();
    let rule = rules
        .iter()
        .find(|rule| rule.id == "flap_limit_exceeded")
        .unwrap();
    let names = |list: &[&str]| {
        list.iter()
            .map(|name| (*name).to_owned())
            .collect::<BTreeSet<_>>()
    };
    let needed = names(&["height_aal_ft", "flap_lever", "cas_kt_max", "vfe_kt"]);
    assert_eq!(rule.required_inputs(), needed);
    let all = names(&[
        "height_aal_ft",
        "flap_lever",
        "cas_kt_max",
        "vfe_kt",
        "turbulence_g",
        "mass_ratio",
    ]);
    assert_eq!(rule.inputs(), all);
    assert_eq!(rule.worst().unwrap().expression.unit.to_string(), "kt");
}

#[test]
fn without_levels_an_event_is_medium() {
    let rule = checked("[episode]\nwithin = 'true'\nwhen = 'cas_kt > 1'\nbridge = \"2min\"\n");
    assert_eq!(rule.levels.len(), 1);
    assert_eq!(rule.levels[0].name, LevelName::Medium);
    let Shape::Episode {
        hold_s, bridge_s, ..
    } = rule.shape
    else {
        panic!("an episode")
    };
    assert_eq!((hold_s, bridge_s), (0.0, 120.0));
}

#[test]
fn the_hash_follows_the_meaning_and_not_the_words() {
    let hash = |body: &str| checked(body).text_hash;
    let base = hash("[episode]\nwithin = 'true'\nwhen = 'cas_kt > 250'\n");
    let respelled = "status = \"trial\"\ntopics = [\"x\"]\n# a remark\n[episode]\nwithin = 'true'\n\
                     when = '( cas_kt>250.0 )'\nhold = \"0s\"\n";
    assert_eq!(hash(respelled), base);
    assert_ne!(
        hash("[episode]\nwithin = 'true'\nwhen = 'cas_kt >= 250'\n"),
        base
    );
    assert_ne!(
        hash("coverage = 0.8\n[episode]\nwithin = 'true'\nwhen = 'cas_kt > 250'\n"),
        base
    );
}

const OVERRIDES: &str = "
[limits]
speed_kt = 250.0
sink_fpm = 1000.0
[[override]]
airport = 'ZSTP'
limits.speed_kt = 230.0
limits.sink_fpm = 1300.0
why = 'steep'
[[override]]
aircraft_type = 'tarn-t7'
airport = 'ZSTP'
limits.speed_kt = 220.0
why = 'draggy'
[[override]]
airport = 'ZSTP'
runway = '26L'
limits.sink_fpm = 1400.0
why = 'steeper'
[episode]
within = 'true'
when = 'cas_kt > limits.speed_kt or sink_rate_fpm > limits.sink_fpm'
";

#[test]
fn the_most_specific_override_wins_limit_by_limit() {
    let rule = checked(OVERRIDES);
    let limits = |kind, airport, runway| {
        let limits = rule.limits_for(kind, airport, runway);
        (limits["speed_kt"], limits["sink_fpm"])
    };
    assert_eq!(limits(None, None, None), (250.0, 1000.0));
    assert_eq!(limits(Some("tarn-t7"), None, None), (250.0, 1000.0));
    assert_eq!(limits(None, Some("ZSTP"), Some("08R")), (230.0, 1300.0));
    assert_eq!(limits(Some("tarn-t7"), Some("ZSTP"), None), (220.0, 1300.0));
    assert_eq!(
        limits(Some("tarn-t7"), Some("ZSTP"), Some("26L")),
        (220.0, 1400.0)
    );
    let hash = |airport| rule.limits_hash(Some("corvan-c20"), airport, None);
    assert_eq!(hash(Some("ZAAA")), hash(None));
    assert_ne!(hash(Some("ZSTP")), hash(None));
}

#[test]
fn a_tie_is_settled_by_an_override_for_both() {
    let body = "
[limits]
speed_kt = 250.0
[[override]]
airport = 'ZSTP'
limits.speed_kt = 230.0
why = 'steep'
[[override]]
aircraft_type = 'tarn-t7'
limits.speed_kt = 220.0
why = 'draggy'
";
    let end = "[episode]\nwithin = 'true'\nwhen = 'cas_kt > limits.speed_kt'\n";
    assert!(faults(&format!("{body}{end}"))[0].message.contains("tie"));
    let both = "[[override]]\naircraft_type = 'tarn-t7'\nairport = 'ZSTP'\n\
                limits.speed_kt = 210.0\nwhy = 'both'\n";
    assert_eq!(checked(&format!("{body}{both}{end}")).overrides.len(), 3);
}

#[test]
fn the_case_in_a_plan_agrees_with_the_numbers() {
    use arrow::array::{ArrayRef, AsArray, DictionaryArray, RecordBatch};
    use arrow::datatypes::{Float32Type, Int32Type};
    use datafusion::common::ToDFSchema;
    use datafusion::prelude::SessionContext;
    use std::sync::Arc;

    let rule = checked(OVERRIDES);
    let rows: [[Option<&str>; 3]; 5] = [
        [None, None, None],
        [Some("tarn-t7"), Some("ZAAA"), Some("26L")],
        [Some("corvan-c20"), Some("ZSTP"), None],
        [Some("tarn-t7"), Some("ZSTP"), Some("08R")],
        [Some("tarn-t7"), Some("ZSTP"), Some("26L")],
    ];
    let column = |at: usize| {
        Arc::new(
            rows.iter()
                .map(|row| row[at])
                .collect::<DictionaryArray<Int32Type>>(),
        ) as ArrayRef
    };
    let named = ["aircraft_type", "airport", "runway"]
        .into_iter()
        .zip((0..3).map(column));
    let batch = RecordBatch::try_from_iter(
        named
            .map(|(name, column)| (name, column, true))
            .map(|(n, c, _)| (n, c)),
    )
    .unwrap();
    let schema = batch.schema().to_dfschema().unwrap();
    for name in ["speed_kt", "sink_fpm"] {
        let case = limit_case(&rule, name);
        let physical = SessionContext::new()
            .create_physical_expr(case, &schema)
            .unwrap();
        let found = physical
            .evaluate(&batch)
            .unwrap()
            .into_array(rows.len())
            .unwrap();
        let found = found.as_primitive::<Float32Type>();
        for (at, [kind, airport, runway]) in rows.iter().enumerate() {
            let wanted = rule.limits_for(*kind, *airport, *runway)[name];
            assert_eq!(f64::from(found.value(at)), wanted, "{name} in row {at}");
        }
    }
    let plain = checked(
        "[limits]\na_kt = 0.7\n[episode]\nwithin = 'true'\nwhen = 'cas_kt > limits.a_kt'\n",
    );
    assert_eq!(
        limit_case(&plain, "a_kt"),
        datafusion::logical_expr::lit(0.7_f32)
    );
}

#[test]
fn overrides_keep_a_level_reachable() {
    let body = "
[limits]
a_kt = 10.0
[[override]]
airport = 'ZSTP'
limits.a_kt = 3.0
why = 'calm'
[episode]
within = 'true'
when = 'cas_kt > 1'
[measures]
worst = 'max(cas_kt)'
[[levels]]
name = 'high'
when = 'worst > 5'
[[levels]]
name = 'low'
when = 'worst > limits.a_kt'
";
    assert_eq!(checked(body).levels.len(), 2);
    let without = body.replace("limits.a_kt = 3.0", "limits.a_kt = 6.0");
    assert!(faults(&without)[0].message.contains("never be reached"));
}

#[test]
fn test_files_and_folders_are_no_rules() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    let good = rule_text("good", "[episode]\nwithin = 'true'\nwhen = 'cas_kt > 1'\n");
    write("good.toml", &good.text);
    write("good.test.toml", "not a rule");
    write("notes.md", "not a rule");
    std::fs::create_dir(folder.path().join("aircraft.toml")).unwrap();
    let rules = read_packs(&[folder.path().to_owned()], &context()).unwrap();
    assert_eq!(rules.len(), 1);
    let missing = read_packs(&[folder.path().join("nowhere")], &context()).expect_err("a fault");
    assert!(missing.faults[0].to_string().contains("cannot be read"));
    write("broken.toml", "\u{0}");
    std::fs::write(folder.path().join("latin.toml"), [0xe9_u8]).unwrap();
    let faults = read_packs(&[folder.path().to_owned()], &context())
        .expect_err("faults")
        .faults;
    assert!(
        faults
            .iter()
            .any(|fault| fault.path.ends_with("latin.toml"))
    );
    assert!(
        faults
            .iter()
            .any(|fault| fault.path.ends_with("broken.toml"))
    );
}

#[test]
fn what_fuzzing_kept_is_checked_without_a_panic() {
    let folder = top().join("tests/fuzz/corpus/rule_file");
    let mut replayed = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        let Ok(text) = String::from_utf8(bytes) else {
            continue;
        };
        replayed += 1;
        let files = || {
            vec![RuleText {
                path: "a_rule.toml".to_owned(),
                stem: "a_rule".to_owned(),
                text: text.clone(),
            }]
        };
        match check_pack(files(), &context()) {
            Ok(_) => drop(warnings(files(), &context(), None)),
            Err(faults) => assert!(!faults.faults.is_empty(), "{text}"),
        }
    }
    assert!(replayed >= 100, "{replayed}");
}
