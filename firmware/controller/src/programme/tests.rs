extern crate std;
use super::{load::Entry, *};

pub(super) fn load(counter: u16) -> Load {
    let on = Command::CameraOn { slit: 2, interval_ticks: 0 };
    let commands = [(50, Command::Speed(340)), (100, on), (1_500, Command::Speed(342)), (3_100, Command::CameraOff)];
    let entries = commands.into_iter().map(|(tick, command)| Entry { tick, command }).collect();
    Load { counter, ephemeris: NO_EPHEMERIS, entries }
}

fn loaded() -> Programme {
    let mut programme = Programme::default();
    programme.adopt(load(1), &Against::alone(0)).unwrap();
    programme
}

#[test]
fn commands_run_on_time() {
    let mut programme = loaded();
    assert_eq!(programme.burst(), Some(Burst { on_tick: 100, off_tick: 3_100 }));
    programme.step(99);
    assert!(!programme.commanded().camera_on);
    assert_eq!(programme.commanded().speed_step, 340);
    programme.step(100);
    assert!(programme.commanded().camera_on);
    assert_eq!(programme.burst(), Some(Burst { on_tick: 100, off_tick: 3_100 }));
    programme.step(3_100);
    assert!(!programme.commanded().camera_on);
    assert_eq!(programme.burst(), None);
}

#[test]
fn commands_found_late_are_discarded_but_camera_off_is_not() {
    let mut programme = loaded();
    programme.step(100);
    programme.step(3_900);
    assert!(!programme.commanded().camera_on);
    let mut programme = loaded();
    programme.step(1_000);
    assert!(!programme.commanded().camera_on, "an old camera-on must not act");
    assert_eq!(programme.late, 1);
}

#[test]
fn a_suspended_programme_switches_nothing_on_and_goes_on_once_the_clock_is_correlated() {
    let mut programme = loaded();
    programme.suspend();
    programme.step(100);
    assert!(!programme.commanded().camera_on);
    assert_eq!(programme.burst(), None);
    let mut later = loaded();
    later.suspend();
    later.step(99);
    later.resume();
    assert_eq!(later.burst(), Some(Burst { on_tick: 100, off_tick: 3_100 }));
    later.step(100);
    assert!(later.commanded().camera_on);
}

#[test]
fn a_hold_that_went_by_unseen_holds_afterwards() {
    let mut held = load(1);
    held.entries.clear();
    let holds = [(10, Hold::Coarse), (20, Hold::Fine), (30, Hold::Coarse)];
    held.entries.extend(holds.map(|(tick, hold)| Entry { tick, command: Command::Hold(hold) }));
    let mut programme = Programme::default();
    programme.adopt(held, &Against::alone(0)).unwrap();
    programme.suspend();
    programme.step(25);
    assert_eq!(programme.commanded().hold, Hold::Fine, "suspended: as it was");
    programme.resume();
    programme.step(5_000);
    assert_eq!(programme.commanded().hold, Hold::Coarse);
}

#[test]
fn what_a_false_clock_seemed_to_reach_is_still_to_come_once_the_clock_is_right() {
    let mut timed = load(1);
    timed.entries.push(Entry { tick: 3_200, command: Command::Hold(Hold::Coarse) }).unwrap();
    let mut programme = Programme::default();
    programme.adopt(timed.clone(), &Against::alone(0)).unwrap();
    programme.step(60);
    // The clock jumps ahead past the whole load, is seen to, and is set right at tick 90.
    programme.suspend();
    (60_000..60_030).for_each(|tick| programme.step(tick));
    programme.resume();
    programme.step(90);
    assert_eq!((programme.commanded(), programme.late), (Commanded { speed_step: 340, ..NOTHING }, 0));
    assert_eq!(programme.burst(), Some(Burst { on_tick: 100, off_tick: 3_100 }));
    programme.step(100);
    assert!(programme.commanded().camera_on);
    // Set right only at tick 2,000: the camera-on has passed and is left out; the speed is the one then in force.
    let mut programme = Programme::default();
    programme.adopt(timed, &Against::alone(0)).unwrap();
    programme.suspend();
    (60_000..60_030).for_each(|tick| programme.step(tick));
    programme.resume();
    programme.step(2_000);
    assert_eq!((programme.commanded(), programme.late), (Commanded { speed_step: 342, ..NOTHING }, 1));
    programme.step(3_200);
    assert_eq!(programme.commanded().hold, Hold::Coarse);
}

#[test]
fn a_programme_that_waits_for_the_ground_has_its_receiver_on() {
    let mut closed = load(1);
    let off_and_on = [(4_000, Command::Receiver(false)), (90_000, Command::Receiver(true))];
    closed.entries.extend(off_and_on.map(|(tick, command)| Entry { tick, command }));
    let mut programme = Programme::default();
    programme.adopt(closed, &Against::alone(0)).unwrap();
    (0..5_000).for_each(|tick| programme.step(tick));
    assert!(!programme.commanded().receiver);
    programme.suspend();
    assert!(programme.commanded().receiver);
}

#[test]
fn a_doubtful_speed_does_not_outlast_its_load() {
    let camera = CameraSettings::default();
    let mut doubtful = load(1);
    doubtful.entries.insert(1, Entry { tick: 60, command: Command::Expect(1) }).unwrap();
    let mut programme = Programme::default();
    programme.adopt(doubtful, &Against::alone(0)).unwrap();
    programme.step(60);
    assert!(programme.speed_doubtful(&camera));
    programme.adopt(load(2), &Against::alone(0)).unwrap();
    assert!(!programme.speed_doubtful(&camera));
}

#[test]
fn with_contact_lost_nothing_is_switched_on_or_cut_and_later_commands_run_once_it_is_back() {
    let mut long = load(1);
    let secure = Entry { tick: 4_000, command: Command::Secure };
    let again = [(5_000, Command::CameraOn { slit: 1, interval_ticks: 0 }), (6_000, Command::CameraOff)];
    long.entries.extend(again.map(|(tick, command)| Entry { tick, command }));
    let mut cut = load(2);
    cut.entries.push(secure).unwrap();
    for (load, back_tick, expected) in [(&long, 4_500, Some(5_000)), (&cut, 4_500, None)] {
        let mut programme = Programme::default();
        programme.adopt(load.clone(), &Against::alone(0)).unwrap();
        (0..=100).for_each(|tick| programme.step(tick));
        assert!(programme.commanded().camera_on);
        (100..back_tick).for_each(|tick| {
            programme.hold_back(true);
            programme.step(tick);
            assert!(!programme.commanded().camera_on && !programme.commanded().secure);
            assert_eq!(programme.burst(), None);
        });
        programme.hold_back(false);
        assert_eq!(programme.burst().map(|burst| burst.on_tick), expected);
    }
    // The control: with contact the film is cut.
    let mut programme = Programme::default();
    programme.adopt(cut, &Against::alone(0)).unwrap();
    (0..4_500).for_each(|tick| programme.step(tick));
    assert!(programme.commanded().secure);
}

#[test]
fn a_new_load_begins_with_the_receiver_on_and_the_timers_as_set() {
    let timed = [(10, Command::OpenAfter(60)), (20, Command::SafeAfter(90)), (30, Command::Receiver(false))];
    let mut first = load(1);
    first.entries = timed.into_iter().map(|(tick, command)| Entry { tick, command }).collect();
    first.entries.push(Entry { tick: 9_000, command: Command::Receiver(true) }).unwrap();
    let mut programme = Programme::default();
    programme.adopt(first, &Against::alone(0)).unwrap();
    (0..100).for_each(|tick| programme.step(tick));
    let told = |programme: &Programme| {
        let Commanded { receiver, open_after_min, safe_after_min, .. } = programme.commanded();
        (receiver, open_after_min, safe_after_min)
    };
    assert_eq!(told(&programme), (false, Some(60), Some(90)));
    programme.adopt(Load { entries: heapless::Vec::new(), ..load(2) }, &Against::alone(100)).unwrap();
    assert_eq!(told(&programme), (true, None, None));
}
