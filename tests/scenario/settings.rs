//! Settings files over the controller's table.

use proptest::prelude::*;
use stillframe::scenario::settings::{GroupVisitor, SettingsList, digest, read_settings, write_settings};
use stillframe_controller::settings_group;
use stillframe_controller::settings_table::Group;

use crate::support::snapshot;

settings_group! {
    /// A group for these tests.
    Hold = "hold" {
        deadband_deg: f32 = 0.3, 0.05 ..= 5.0, "°", "Half-width of the deadband.";
        lockout_ms: u32 = 150, 0 ..= 5000, "ms", "Least time between pulses.";
        gain: f32 = 0.1, -1.0 ..= 1.0, "1", "A gain.";
    }
}

settings_group! {
    /// A group that may stand several times.
    Nozzle = "jet" {
        arm_m: f32 = 1.2, -5.0 ..= 5.0, "m", "Arm.";
    }
}

#[derive(Clone, Debug, Default, PartialEq)]
struct Both {
    hold: Hold,
    jets: Vec<Nozzle>,
}

impl SettingsList for Both {
    fn visit<V: GroupVisitor>(&mut self, visitor: &mut V) {
        visitor.group(&mut self.hold);
        visitor.array::<Nozzle, _>(&mut self.jets, 3);
    }
}

fn sample() -> Both {
    let mut sample = Both { jets: vec![Nozzle { arm_m: -1.1 }, Nozzle::default()], ..Both::default() };
    assert!(sample.hold.set(0, 0.7));
    sample
}

#[test]
fn a_written_file_explains_itself() {
    snapshot("settings_written", &write_settings(&sample()));
}

#[test]
fn keys_left_out_keep_their_defaults() {
    let read: Both = read_settings("s", "format = 1\n[hold]\ndeadband_deg = 0.7\n").expect("read");
    assert_eq!(read.hold, sample().hold);
    assert!(read.jets.is_empty());
}

proptest! {
    #[test]
    fn written_settings_read_back_bit_for_bit(
        deadband in 0.05_f32..=5.0, lockout in 0_u32..=5000, gain in -1.0_f32..=1.0,
        arms in prop::collection::vec(-5.0_f32..=5.0, 0..=3),
    ) {
        let jets = arms.into_iter().map(|arm_m| Nozzle { arm_m }).collect();
        let settings = Both { hold: Hold { deadband_deg: deadband, lockout_ms: lockout, gain }, jets };
        let read: Both = read_settings("s", &write_settings(&settings)).expect("own file");
        prop_assert_eq!(digest(&read), digest(&settings));
        prop_assert_eq!(read, settings);
    }
}

#[test]
fn the_digest_follows_values_and_nothing_else() {
    let text = write_settings(&sample());
    let bare: String = text.lines().filter(|line| !line.starts_with('#')).map(|line| format!("{line}\n")).collect();
    let read: Both = read_settings("s", &bare).expect("without comments");
    assert_eq!(digest(&read), digest(&sample()));
    let mut other = sample();
    other.hold.lockout_ms += 1;
    assert_ne!(digest(&other), digest(&sample()));
    other = sample();
    other.jets.swap(0, 1);
    assert_ne!(digest(&other), digest(&sample()));
}

#[test]
fn bad_settings() {
    let cases = [
        ("no format", "[hold]\n"),
        ("above the range", "format = 1\n[hold]\ndeadband_deg = 50\n"),
        ("count with a fraction", "format = 1\n[hold]\nlockout_ms = 1.5\n"),
        ("not a number", "format = 1\n[hold]\ngain = nan\n"),
        ("misspelt key", "format = 1\n[hold]\ndeadbnad_deg = 0.3\n"),
        ("unknown key", "format = 1\n[hold]\nspeed = 1\n"),
        ("misspelt table", "format = 1\n[hodl]\ngain = 0.5\n"),
        ("table for a list", "format = 1\n[jet]\narm_m = 1.0\n"),
        ("too many", "format = 1\n[[jet]]\n[[jet]]\n[[jet]]\n[[jet]]\n"),
        ("list for a table", "format = 1\n[[hold]]\n"),
        ("not TOML", "format = 1\n[hold\n"),
        ("several at once", "format = 1\n[hold]\ngain = 2\nlockout_ms = -1\n[[jet]]\narm_m = 9\n"),
    ];
    let told: Vec<String> = cases
        .iter()
        .map(|(name, text)| {
            let refusal = read_settings::<Both>("settings.toml", text).expect_err(name);
            format!("==== {name}\n{}", refusal.render(100, false))
        })
        .collect();
    snapshot(
        "bad_settings",
        &told.join(
            "
",
        ),
    );
}
