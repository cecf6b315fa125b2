use super::*;

/// Ten NM straight in: down the path, slowing, with one unknown stretch of airspeed.
fn invented() -> Retrace {
    let n = 201;
    let along = |from: f64, to: f64| -> Vec<Option<f64>> {
        (0..n)
            .map(|k| Some(from + (to - from) * f64::from(k) / 200.0))
            .collect()
    };
    let unknown = vec![None; n as usize];
    let mut cas = along(220.0, 140.0);
    cas[50..60].fill(None);
    let mut lever = vec![Some(1.0); n as usize];
    lever[120..].fill(Some(2.0));
    let series = Series {
        time_s: (0..n).map(f64::from).collect(),
        distance_nm: along(10.0, 0.0),
        height_ft: along(3600.0, 50.0),
        profile_height_ft: along(3230.0, 50.0),
        planning_height_ft: along(3000.0, 50.0),
        energy_excess_ft: along(900.0, 0.0),
        cas_kt: cas,
        target_cas_kt: along(200.0, 135.0),
        limit_kt: vec![Some(215.0); n as usize],
        next_limit_kt: vec![Some(200.0); n as usize],
        min_manoeuvre_kt: unknown.clone(),
        flap_lever: lever,
        gear_down: unknown.clone(),
        speedbrake: vec![Some(0.0); n as usize],
        thrust_pct: unknown.clone(),
        headwind_kt: vec![Some(8.0); n as usize],
        crosswind_kt: unknown.clone(),
        turbulence_g: unknown,
    };
    let event = |rule: &str, at: Option<f64>| Event {
        rule: rule.to_owned(),
        level: "low".to_owned(),
        start_s: at,
        end_s: at.map(|t| t + 4.0),
        worst_s: at,
        worst: Some(5.0),
        unit: "kt".to_owned(),
        partial: false,
    };
    Retrace {
        flight_id: "inv<ent>ed".to_owned(),
        approach_no: 1,
        series,
        measures: Measures::default(),
        checkpoints: vec![
            Checkpoint {
                name: "20 NM".to_owned(),
                ..Checkpoint::default()
            },
            Checkpoint {
                name: "5 NM".to_owned(),
                time_s: Some(100.0),
                over_profile_ft: Some(-120.0),
                energy_excess_ft: Some(450.0),
                cas_kt: Some(180.0),
                target_cas_kt: Some(167.5),
                energy_class: Some("drag".to_owned()),
                loss_needed_ft_per_nm: Some(312.0),
                cheapest_drag: Some("flap".to_owned()),
                ..Checkpoint::default()
            },
        ],
        gates: vec![Gate {
            name: "1,000 ft".to_owned(),
            rule: "stable_1000".to_owned(),
            criterion: "airspeed".to_owned(),
            time_s: Some(146.0),
            value: Some(23.0),
            upper: Some(15.0),
            passed: Some(false),
            ..Gate::default()
        }],
        // The second lies where airspeed is unknown, the third after the last sample, the fourth nowhere.
        events: vec![
            event("flap_limit_exceeded", Some(2.0)),
            event("steep_descent", Some(55.0)),
            event("long_touchdown", Some(230.0)),
            event("whole_approach", None),
        ],
        judged: true,
        band_ft: 300.0,
        speedbrake_out: 0.1,
        moves: vec![LeverMove {
            time_s: 120.0,
            lever: Lever::Flap,
            to: 2.0,
            cas_kt: Some(172.0),
            margin_kt: Some(-3.0),
            height_ft: Some(1470.0),
        }],
        ..Retrace::default()
    }
}

fn svg<'a>(page: &'a str, id: &str) -> &'a str {
    let at = page
        .find(&format!("aria-labelledby=\"{id}-title"))
        .expect(id);
    let rest = &page[at..];
    &rest[..rest.find("</svg>").expect("an end")]
}

#[test]
fn nothing_is_fetched_and_nothing_runs() {
    let page = render(&invented()).expect("a page");
    for bad in [
        "http:", "https:", "src=", "<script", "url(", "@import", "<link", " on",
    ] {
        let found = match bad {
            " on" => page.contains(" onload=") || page.contains(" onclick="),
            bad => page.contains(bad),
        };
        assert!(!found, "{bad}");
    }
    assert!(page.contains("inv&lt;ent&gt;ed") && !page.contains("<ent>"));
    assert!(page.contains("prefers-color-scheme: dark"));
}

#[test]
fn every_event_with_a_moment_is_marked_in_every_picture_and_all_are_listed() {
    let page = render(&invented()).expect("a page");
    for id in ["height", "speed", "configuration", "air"] {
        let picture = svg(&page, id);
        for number in 1..=3 {
            let mark = format!(">{number}</text>");
            let marks = picture
                .lines()
                .filter(|line| line.contains("\"letter halo\"") && line.contains(&mark));
            assert_eq!(marks.count(), 1, "{id} {number}");
        }
        assert_eq!(picture.matches("class=\"shrunk\"").count(), 3, "{id}");
        assert!(
            picture.contains("<title") && picture.contains("Event 4: whole approach."),
            "{id}"
        );
    }
    for words in [
        "flap limit exceeded",
        "steep descent",
        "outside the approach segment",
        "no moment known",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn marks_stand_where_their_distance_is() {
    let page = render(&invented()).expect("a page");
    // Ten NM are 642 wide from 58 on; 5 NM lie in the middle, 9.9 NM 1 % in.
    let picture = svg(&page, "height");
    assert!(
        picture.contains(r#"<line class="change" x1="379.0""#),
        "{picture}"
    );
    assert!(
        picture.contains(r#"<text class="letter halo" text-anchor="middle" x="64.4""#),
        "{picture}"
    );
}

#[test]
fn lines_break_where_airspeed_is_unknown() {
    let page = render(&invented()).expect("a page");
    assert_eq!(
        svg(&page, "speed")
            .matches("<polyline class=\"rate\"")
            .count(),
        2
    );
    assert_eq!(
        svg(&page, "height")
            .matches("<polyline class=\"rate\"")
            .count(),
        1
    );
}

#[test]
fn the_sentences_say_what_was() {
    let page = render(&invented()).expect("a page");
    for words in [
        "At 5 NM the aircraft was 120 ft below the glide path, airspeed was 180 kt (12 kt above the planned \
         speed) and energy was 450 ft above the plan. From there 312 ft of energy had to go per NM to be at \
         approach speed at 1,000 ft: by the type&#x27;s table flap loses that much.",
        "Energy was furthest from the plan, 900 ft above it, at 10.0 NM.",
        "From 3.3 NM on, energy was within 300 ft of the plan.",
        "At 4.0 NM (1,470 ft, 172 kt, 3 kt above the limit of the new position) the flap lever moved to 2.",
        "Speedbrake was not out.",
        "Airspeed was up to 5 kt above the limit of the lever position, at 10.0 NM.",
        "0 of 1 criteria were met: airspeed was 23.0, expected at most 15.",
        "4 events were found",
        "Not known on this approach: gear, thrust.",
        "not seen",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
}

#[test]
fn without_distance_the_axis_is_time() {
    let mut input = invented();
    input.series.distance_nm.fill(None);
    let page = render(&input).expect("a page");
    assert!(svg(&page, "speed").contains("time to the end of the approach, s"));
    assert!(page.contains("198 s before the end"));
}

#[test]
fn series_that_cannot_be_drawn_are_all_named() {
    let mut input = invented();
    input.series.cas_kt.pop();
    input.series.height_ft[3] = Some(f64::NAN);
    input.series.time_s[5] = 0.0;
    let text = render(&input).expect_err("a refusal").to_string();
    for words in [
        "cas_kt: 200 values, expected 201",
        "height_ft: value 3",
        "ascending",
    ] {
        assert!(text.contains(words), "{text}");
    }
}

#[test]
fn numbers_of_one_moment_stand_one_above_the_other() {
    let mut input = invented();
    input.events = vec![input.events[0].clone(), input.events[0].clone()];
    let page = render(&input).expect("a page");
    for id in ["height", "speed"] {
        let numbers: Vec<&str> = svg(&page, id)
            .lines()
            .filter(|line| line.contains("letter halo"))
            .collect();
        assert_eq!(numbers.len(), 2, "{id}");
        let y = |line: &str| line.split(" y=").nth(1).map(str::to_owned);
        assert!(y(numbers[0]).is_some());
        assert_ne!(y(numbers[0]), y(numbers[1]), "{numbers:?}");
    }
}

#[test]
fn what_was_not_judged_is_not_said_to_be_clear() {
    let mut input = invented();
    input.events.clear();
    let judged = render(&input).expect("a page");
    assert!(judged.contains("No rule found an event."));
    input.judged = false;
    let page = render(&input).expect("a page");
    assert!(page.contains("not judged") && !page.contains("No rule found an event."));
}

#[test]
fn stretches_of_speedbrake_are_listed_and_unknown_ones_said() {
    let mut input = invented();
    input.series.speedbrake[200] = Some(0.5);
    let page = render(&input).expect("a page");
    assert!(page.contains("Speedbrake was not out before the end."));
    input.series.speedbrake[200] = Some(0.0);
    input.series.speedbrake[20..40].fill(Some(0.5));
    input.series.speedbrake[80..91].fill(Some(1.0));
    let page = render(&input).expect("a page");
    let words =
        "Speedbrake was out for 31 s in all: from 9.0 NM to 8.1 NM and from 6.0 NM to 5.5 NM.";
    assert!(page.contains(words), "{page}");
    input.series.speedbrake[10..15].fill(None);
    let page = render(&input).expect("a page");
    assert!(page.contains("Speedbrake was out for 31 s in all, as far as it is known: from"));
}
