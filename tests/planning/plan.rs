//! The plan as a whole: what each limit does to it.

use crate::{FIRST_AREA, changed, demo_plan, made, planning};
use stillframe::{passes::plan::windows::Unfit, scenario::demo::Demo};
use stillframe_controller::{
    attitude::mode::Hold,
    programme::load::{Command, Load},
};

/// The demonstration: every area is lit once a day at least and nothing is scarce, so that all are planned, none twice over
/// the same ground for nothing, each within its limits, and the load is what the flight code reads.
#[test]
fn the_demonstration_is_planned_whole() {
    let study = demo_plan();
    let d = &study.document;
    assert!(d.choice.exact && d.choice.value <= d.choice.bound + 1e-12);
    assert!(d.areas.iter().all(|area| area.flown > 0), "{:?}", d.areas);
    for (burst, told) in study.plan.flown().zip(&d.bursts) {
        assert!(told.sun_low_deg >= 10.0, "{told:?}");
        assert!(told.padding_before_s >= study.plan.uncertainty.padding_s(burst.over_s[0]) - 1e-9);
        assert!(told.padding_after_s >= study.plan.uncertainty.padding_s(burst.over_s[1]) - 1e-9);
        assert!(told.quiet_from_s < told.on_s);
    }
    let gaps = d.bursts.windows(2).map(|pair| pair[1].on_s - pair[0].off_s);
    assert!(gaps.fold(f64::INFINITY, f64::min) >= 20.0);
    let load = Load::decode(&study.built.load.encode()).expect("reads");
    let on = load.entries.iter().filter(|entry| matches!(entry.command, Command::CameraOn { .. }));
    let ticks: Vec<u32> = on.map(|entry| entry.tick).collect();
    let planned: Vec<u32> = d.bursts.iter().map(|burst| (burst.on_s * 100.0).round() as u32).collect();
    assert_eq!(ticks, planned);
    // What the choice counted with is what the load came to, or more.
    assert!(load.entries.len() <= d.bursts.iter().map(|burst| burst.entries).sum());
    // Worth is priority times share, counted again from the areas' own figures.
    let worth: f64 = d.areas.iter().map(|area| area.priority * area.covered_percent / 100.0).sum();
    assert!((worth - d.choice.value).abs() < 1e-9, "{worth} {}", d.choice.value);
}

/// With film for a few camera-ons alone, film binds: less is worth less, and what would not fit is not flown.
#[test]
fn film_binds_when_it_is_short() {
    let short = made(&changed(Demo::Strip, &[(FIRST_AREA, &planning("film_m = 6.0"))])).document;
    let film: f64 = short.bursts.iter().map(|burst| burst.film_m).sum();
    let all: f64 = demo_plan().document.bursts.iter().map(|burst| burst.film_m).sum();
    assert!(film <= 6.0 && all > 6.0, "{film} {all}");
    assert!(short.choice.value < demo_plan().document.choice.value && short.choice.value > 0.0);
    assert!(short.choice.relaxed >= short.choice.value && short.choice.exact);
    assert!(short.areas.iter().any(|area| area.why_not.as_deref().is_some_and(|why| why.contains("worth more"))));
}

/// One area is worth ten of the others: when film is short it is among the flown.
#[test]
fn what_is_worth_most_is_flown_first() {
    let dear = "name = \"Deepmere\"\npriority = 10.0";
    let changes = [(FIRST_AREA, planning("film_m = 3.0")), ("name = \"Deepmere\"", dear.to_owned())];
    let changes: Vec<(&str, &str)> = changes.iter().map(|(from, to)| (*from, to.as_str())).collect();
    let study = made(&changed(Demo::Strip, &changes)).document;
    let deepmere = study.areas.iter().find(|area| area.name == "Deepmere").expect("an area");
    assert!(deepmere.flown == 1, "{:?}", study.areas);
}

/// Padding follows sigma: none at zero, three times that of one at three, up to the rounding to tenths.
#[test]
fn padding_is_computed_not_guessed() {
    let at = |sigmas: &str| made(&changed(Demo::Strip, &[(FIRST_AREA, &planning(&format!("sigmas = {sigmas}")))]));
    let (none, one) = (at("0.0"), at("1.0"));
    assert!(none.document.bursts.iter().all(|b| b.padding_before_s < 0.1 && b.padding_after_s < 0.1));
    for pass in demo_plan().plan.passes.iter().filter(|pass| pass.flown) {
        let (three, one) =
            (demo_plan().plan.uncertainty.padding_s(pass.start_s), one.plan.uncertainty.padding_s(pass.start_s));
        assert!((three / one - 3.0).abs() < 1e-9);
    }
    let film =
        |study: &stillframe::design::day_plan::Study| study.document.bursts.iter().map(|b| b.film_m).sum::<f64>();
    assert!(film(&none) < film(&one) && film(&one) < film(demo_plan()));
}

/// By radio, nothing begins before the first contact has carried the load; without stations, nothing at all.
#[test]
fn a_load_by_radio_comes_before_its_first_command() {
    let radio = made(&changed(Demo::Strip, &[("ut1_minus_utc_s", "load_by = \"radio\"\nut1_minus_utc_s")]));
    let loaded_s = radio.plan.loaded_s.expect("a contact");
    let first = &radio.document.contacts[0];
    assert!(loaded_s > first.rise_s + 11.0 && loaded_s < first.rise_s + 20.0, "{loaded_s} {first:?}");
    assert!(radio.document.bursts.iter().all(|burst| burst.on_s > loaded_s));
    let text = Demo::Strip.text();
    let (before, rest) = text.split_once("[[station]]").expect("stations");
    let (_, after) = rest.split_once("[[area]]").expect("areas");
    let text = format!("{before}[[area]]{after}").replacen("ut1_minus", "load_by = \"radio\"\nut1_minus", 1);
    let alone = stillframe::scenario::read("alone", &text, &stillframe::scenario::BuiltIn(&[])).expect("sound");
    let alone = made(&alone);
    assert!(alone.plan.loaded_s.is_none() && alone.document.bursts.is_empty());
    assert!(alone.plan.passes.iter().any(|pass| pass.unfit == Some(Unfit::NotLoaded)));
}

/// A strip camera sees each place once: stereo is refused in so many words, and the rest is planned.
#[test]
fn a_strip_camera_says_that_it_gives_no_stereo() {
    let study =
        made(&changed(Demo::Strip, &[("name = \"Deepmere\"", "name = \"Deepmere\"\ncover = \"stereo\"")])).document;
    let deepmere = study.areas.iter().find(|area| area.name == "Deepmere").expect("an area");
    assert!(deepmere.flown == 0 && deepmere.why_not.as_deref().is_some_and(|why| why.contains("strip camera")));
    assert_eq!(study.areas.iter().filter(|area| area.flown > 0).count(), study.areas.len() - 1);
}

/// A framing camera overlaps its frames by more than half in the passes that want stereo, and there alone.
#[test]
fn a_framing_camera_gives_stereo_by_overlap() {
    let stereo = ("name = \"Deepmere\"", "name = \"Deepmere\"\ncover = \"stereo\"");
    let study = made(&changed(Demo::Frame, &[stereo, ("shortest_cycle_s = 2.0", "shortest_cycle_s = 1.4")]));
    // A control: with a cycle too long for it, no single pass will do, and the plan says so.
    let slow = made(&changed(Demo::Frame, &[stereo])).document;
    let deepmere = slow.areas.iter().find(|area| area.name == "Deepmere").expect("an area");
    assert!(deepmere.flown == 0 && deepmere.why_not.as_deref().is_some_and(|why| why.contains("cycle is too long")));
    let camera = &study.scenario().camera;
    let (mut stereo, mut single) = (0, 0);
    for burst in &study.document.bursts {
        if burst.areas.iter().any(|name| name == "Deepmere") {
            let interval_s = burst.interval_s.expect("an interval");
            // The image runs by f·v/h, about 1 m · 7.5 km/s / height: in an interval less than half a frame.
            let moved_m = camera.focal_length_m * 7.5 / burst.height_km * interval_s;
            assert!(moved_m / camera.frame_length_m < 0.5, "{moved_m} {}", camera.frame_length_m);
            stereo += 1;
        } else {
            assert_eq!(burst.interval_s, None);
            single += 1;
        }
    }
    assert!(stereo >= 1 && single >= 5, "{stereo} {single} {:?}", study.document.areas);
}

/// Commands that are no camera's stay, and count: after the film is cut nothing is planned.
#[test]
fn nothing_is_planned_after_the_film_is_cut() {
    let text = Demo::Strip.text();
    let (before, _) = text.split_once("[[command]]").expect("commands");
    let text = format!("{before}[[command]]\ndo = \"cut_and_seal\"\nat_h = 12.0\n");
    let cut = stillframe::scenario::read("cut", &text, &stillframe::scenario::BuiltIn(&[])).expect("sound");
    let cut = made(&cut);
    assert!(!cut.document.bursts.is_empty() && cut.document.bursts.iter().all(|burst| burst.off_s < 12.0 * 3600.0));
    assert!(cut.plan.passes.iter().any(|pass| pass.unfit == Some(Unfit::FilmCut)));
    assert!(cut.built.load.entries.iter().any(|entry| entry.command == Command::Secure));
}

#[test]
fn the_same_plan_comes_twice() {
    let again = made(&Demo::Strip.load().expect("sound"));
    assert_eq!(again.document, demo_plan().document);
}

/// What is loaded is what flies: the film's sealing and the turn to the retro attitude are in it, after all pictures.
#[test]
fn the_load_holds_the_way_home() {
    let study = demo_plan();
    let separation_s = study.built.home.as_ref().expect("a way home").separation_s();
    let at_s = |wanted: fn(&Command) -> bool| {
        let tick = study.built.load.entries.iter().find(|entry| wanted(&entry.command)).map(|entry| entry.tick);
        f64::from(tick.expect("in the load")) * 0.01
    };
    let sealed_s = at_s(|command| matches!(command, Command::Secure));
    let turned_s = at_s(|command| matches!(command, Command::Hold(Hold::Turned)));
    assert!((sealed_s - (separation_s - 1_800.0)).abs() < 0.02 && (turned_s - (separation_s - 720.0)).abs() < 0.02);
    assert!(study.plan.flown().all(|burst| burst.off_s < sealed_s));
}

/// The listing is in the form that loads are checked in, and comes back as the load, bit for bit.
#[test]
fn the_listing_reads_back_as_the_load() {
    let study = demo_plan();
    let text = stillframe::design::day_plan::listing(study);
    let listed = stillframe::passes::check::listing::parse("load.txt", &text, study.built.start).expect("reads");
    assert_eq!(listed.load, study.built.load);
}

/// A lit place under the track 25 minutes after separation: the vehicle is not in fine hold by then (27 minutes, flown).
#[test]
fn nothing_is_planned_before_capture_is_over() {
    let point = demo_plan().track.iter().find(|point| point.time_s >= 1_500.0).expect("a point");
    let [latitude, longitude] = point.place_rad.map(f64::to_degrees);
    let early =
        format!("name = \"Early\"\ncentre_deg = [{latitude:.3}, {longitude:.3}]\nradius_km = 60.0\n\n{FIRST_AREA}");
    let study = made(&changed(Demo::Strip, &[(FIRST_AREA, &format!("[[area]]\n{early}"))]));
    let first = study.plan.passes.iter().find(|pass| pass.area == 0 && pass.start_s < 1_600.0).expect("a pass");
    assert_eq!(first.unfit, Some(Unfit::NotCaptured));
    assert!(study.document.bursts.iter().all(|burst| burst.on_s > 27.0 * 60.0));
}
