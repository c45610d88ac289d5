//! What does not belong where it stands: by stage of the mission, hold, and time to get ready.

use super::{
    finding::{Findings, Rule},
    sequence::Sequence,
    state::{Stage, State},
    words::hold_word,
};
use stillframe_controller::{
    attitude::mode::Hold,
    programme::{
        check::Against,
        load::{Command, Load},
    },
    settings::Settings,
};

/// Time after separation in which a tip-off of 1 °/s is taken out and yaw is found, s: 27 minutes in the
/// simulated flights, and a third more.
const CAPTURE_S: f64 = 2_160.0;
/// Time in fine hold before pictures, s, after a wider or no hold: the drift within the wide deadband is taken
/// out and the rates settle (simulated flights).
const SETTLE_S: f64 = 300.0;
/// Time between camera-off and the next start of film, s: run-down and centring of the loops.
const BETWEEN_S: f64 = 3.0;

/// Names everything out of phase.
pub fn judge(
    load: &Load,
    sequence: &Sequence,
    state: &State,
    (settings, against): (&Settings, &Against),
    findings: &mut Findings<'_>,
) {
    stage(load, state, findings);
    after_secure(load, sequence, findings);
    holds(sequence, state, against.ready_tick, findings);
    pace(sequence, settings, findings);
}

/// With film sealed there is nothing to expose, run or cut.
fn stage(load: &Load, state: &State, findings: &mut Findings<'_>) {
    if state.stage != Stage::Secured {
        return;
    }
    for (index, entry) in load.entries.iter().enumerate() {
        if matters_to_film(entry.command) {
            let reason = "film is cut and sealed on board: there is none left to command".to_owned();
            findings.refuse(Rule::Phase, Some(index), reason, "Take it out, or check the stage given for the vehicle.");
        }
    }
}

fn matters_to_film(command: Command) -> bool {
    matches!(
        command,
        Command::CameraOn { .. } | Command::CameraOff | Command::Speed(_) | Command::Expect(_) | Command::Secure
    )
}

fn after_secure(load: &Load, sequence: &Sequence, findings: &mut Findings<'_>) {
    let Some(&(first, at_s)) = sequence.secures.first() else { return };
    let cut_tick = load.entries.get(first).map_or(0, |entry| entry.tick);
    for (index, entry) in load.entries.iter().enumerate() {
        if index != first && entry.tick >= cut_tick && matters_to_film(entry.command) {
            let reason = format!("film has been cut and sealed by entry {} by then", first + 1);
            findings.refuse(Rule::Phase, Some(index), reason, "Cut and seal after the last picture, and once.");
        }
    }
    let reason = format!("film is cut and sealed at {at_s:.2} s: this cannot be undone");
    findings.caution(Rule::Phase, Some(first), reason, "Both signatures confirm that it is meant.");
}

fn holds(sequence: &Sequence, state: &State, ready_tick: u32, findings: &mut Findings<'_>) {
    let ready_s = f64::from(ready_tick) / 100.0;
    for burst in &sequence.bursts {
        let (hold, since_s) = burst.hold;
        if hold != Hold::Fine {
            let reason =
                format!("the hold is {} since {since_s:.2} s: the vehicle withholds the camera", hold_word(hold));
            findings.refuse(Rule::Phase, Some(burst.on), reason, "Command hold fine, minutes before.");
        } else if since_s > 0.0 && burst.on_s - since_s < SETTLE_S {
            let reason = format!(
                "fine hold is asked for only {:.0} s before it; settling takes {SETTLE_S:.0} s",
                burst.on_s - since_s
            );
            findings.caution(
                Rule::Phase,
                Some(burst.on),
                reason,
                "Command hold fine earlier, or expect the first pictures to be withheld.",
            );
        }
        if let Some(lost) = burst.hold_lost {
            let reason = format!("the hold leaves fine while the camera is on (entry {})", burst.on + 1);
            findings.refuse(Rule::Phase, Some(lost), reason, "Change the hold after camera-off.");
        }
        if burst.on_s < ready_s {
            let reason = format!("capture cannot be over before {ready_s:.0} s: the compass needs its settling time");
            findings.refuse(Rule::Phase, Some(burst.on), reason, "Begin later.");
        } else if state.stage == Stage::Pad && burst.on_s < CAPTURE_S {
            let reason = format!(
                "{:.0} s after separation the vehicle may not be in fine hold yet ({CAPTURE_S:.0} s)",
                burst.on_s
            );
            findings.caution(Rule::Phase, Some(burst.on), reason, "Begin later, or expect the camera to be withheld.");
        }
    }
}

/// Film needs time to stop and to start between two camera-ons.
fn pace(sequence: &Sequence, settings: &Settings, findings: &mut Findings<'_>) {
    let lead_s = f64::from(settings.camera.lead_ticks) / 100.0;
    for pair in sequence.bursts.windows(2) {
        let [before, after] = pair else { continue };
        let between_s = after.on_s - before.off_s;
        if between_s < lead_s + BETWEEN_S {
            let reason = format!(
                "{between_s:.2} s after the last camera-off; film needs {:.2} s to stop and to start again",
                lead_s + BETWEEN_S
            );
            findings.caution(
                Rule::Camera,
                Some(after.on),
                reason,
                "Leave more time, or make one camera-on of the two.",
            );
        }
    }
}
