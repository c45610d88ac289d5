//! Frames of strip as the whole vehicle exposes them.

use stillframe::{
    flight::{
        self, Options,
        build::build,
        frames::{CameraSetup, FrameWatch},
    },
    imaging::row::FrameRow,
    plant::TICK_S,
    record::files,
};

use crate::rig::{Rig, camera, loaded, replace, scenario};

/// Film on, h.
const PASS_H: f64 = 0.602;

/// The demonstration with a slit of so many millimetres, beneath which film of 33 mm/s stays for longer than a tick.
fn wide(slit_mm: f64, frame_mm: f64, for_s: f64) -> String {
    let text = scenario(0.61, &(camera(PASS_H, for_s) + "slit = 4\n"));
    let text = replace(&text, "0.137, 0.194]", &format!("0.137, {slit_mm}]"));
    replace(&text, "frame_length_mm = 34.0", &format!("frame_length_mm = {frame_mm}"))
}

/// A frame is judged over the whole time that the slit exposes a line of it, be it longer than a tick. One cut before its
/// first judged line was exposed in part: it did see the Earth.
#[test]
fn a_wide_slit_is_judged_over_all_of_its_dwell() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("run");
    // Twelve seconds of film in a frame: the second one is cut in its first second, a sixth of it takes two.
    let loaded = loaded(&wide(0.5, 400.0, 13.0));
    let built = build(&loaded, 1).expect("builds");
    let options = Options { seed: 1, out: out.clone(), full_record: false, created: jiff::Timestamp::UNIX_EPOCH };
    flight::fly(&loaded, built, &options, &mut |_| {}).expect("flies");
    let mut table = csv::Reader::from_path(out.join(files::FRAMES)).expect("frames");
    let frames: Vec<FrameRow> = table.deserialize().collect::<Result<_, _>>().expect("rows");
    let [first, stub] = frames.as_slice() else { panic!("{} frames", frames.len()) };
    let (exposure_ms, film_mm_s) = (first.exposure_ms.expect("judged"), first.film_speed_mm_s.expect("judged"));
    assert!((exposure_ms * film_mm_s / 500.0 - 1.0).abs() < 0.005, "{exposure_ms} ms at {film_mm_s} mm/s");
    assert!(exposure_ms > 12.0 && first.cause != "partial_frame", "{first:?}");
    assert_eq!((stub.exposure_ms, stub.cause.as_str()), (None, "partial_frame"), "{stub:?}");
}

/// Frames of five millimetres are judged every fifty milliseconds, while the slit exposes for 120: exposures overlap.
/// Truth is asked for in order of time, and every exposure gets its own five instants.
#[test]
fn exposures_that_overlap_are_sampled_in_order() {
    let text = wide(4.0, 5.0, 10.0);
    let built = build(&loaded(&text), 1).expect("builds");
    let camera = &built.settings.camera;
    let setup = CameraSetup {
        camera: built.camera.clone(),
        frame_counts: (camera.frame_length_m / built.settings.film.count_m()) as i32,
        speed_step_m_s: f64::from(camera.speed_step_m_s),
        exposures_s: [0.0; 4],
        shutter_delays_s: [0.0; 2],
        areas: Vec::new(),
    };
    let mut watch = FrameWatch::new(setup);
    let mut rig = Rig::new(&text);
    rig.run(PASS_H * 3600.0 + 2.0);
    let (mut instants_s, mut samples) = (Vec::new(), Vec::new());
    let (mut judged, mut most) = (0, 0);
    for _ in 0..600 {
        watch.before(&rig.flight, &mut instants_s);
        assert!(instants_s.is_sorted(), "{instants_s:?}");
        let end_s = rig.flight.time_s() + TICK_S;
        assert!(instants_s.iter().all(|at_s| *at_s < end_s && *at_s > end_s - TICK_S - 1e-9), "{instants_s:?}");
        most = most.max(instants_s.len());
        samples.clear();
        let outcome = rig.flight.tick(&instants_s, &mut |_, sample| samples.push(sample)).expect("the orbit holds");
        watch.after(&rig.flight, &outcome.open, &samples);
        if let Some(mark) = rig.flight.controller.frame() {
            watch.mark(mark, rig.flight.plant.ticks());
        }
        if let Some(mark) = watch.due(rig.flight.plant.ticks(), false) {
            let frame = watch.judge(&mark, &rig.flight);
            // The first look is in the middle of the burst, and may be in the middle of a frame.
            if frame.middles.len() == 3 {
                let um = frame.row.exposure_ms.expect("judged") * frame.row.film_speed_mm_s.expect("judged");
                assert!((um / 4_000.0 - 1.0).abs() < 0.005, "{um}");
                judged += 1;
            }
        }
    }
    assert!(judged > 20 && most > 1, "{judged} frames, {most} instants in a tick");
}
