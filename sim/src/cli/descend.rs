//! `descend`: load and check, study, tell.

use super::descend_args::{DescendArgs, Fault};
use super::exit::Exit;
use super::show;
use super::study::{Wanted, tell, with_progress};
use crate::descent::repredict::{LateFacts, News};
use crate::descent::{DescentError, Faults, Options, screen, study, write_folder};
use crate::flight::build::BuildError;
use crate::scenario::demo::Demo;
use crate::scenario::{Loaded, load};

pub(super) fn descend(args: &DescendArgs) -> Result<(), Exit> {
    let loaded = match &args.scenario {
        Some(path) => load(path),
        None => Demo::Strip.load(),
    }
    .map_err(|refusal| show(&refusal))?;
    let options = options(args, &loaded);
    let made = with_progress(args.quiet, "descents", |progress| study(&loaded, &options, progress))
        .map_err(|e| refused(&e))?;
    let wanted = Wanted { out: args.out.as_deref(), json: args.json, quiet: args.quiet };
    let name = format!("{}-descent", loaded.scenario.run.name);
    let (document, screen) = (|| made.summary.to_json(), || screen(&made.summary));
    tell(wanted, (&name, made.summary.seed), |folder| write_folder(folder, &made), document, screen)
}

fn options(args: &DescendArgs, loaded: &Loaded) -> Options {
    let mut faults = Faults::default();
    for fault in &args.fault {
        match *fault {
            Fault::RetroPitch(deg) => faults.pitch_rad = deg.to_radians(),
            Fault::RetroYaw(deg) => faults.yaw_rad = deg.to_radians(),
            Fault::LowImpulse(percent) => faults.impulse_missing = 0.01 * percent,
            Fault::SpinFailed(rpm) => faults.spin_rad_s = Some(rpm * std::f64::consts::TAU / 60.0),
            Fault::EarlyDrogue(early_s) => faults.early_drogue_s = early_s,
            Fault::GSwitchDead => faults.g_switch_dead = true,
            Fault::DrogueFailed => faults.drogue_dead = true,
            Fault::MainFailed => faults.main_dead = true,
        }
    }
    Options {
        runs: args.runs,
        seed: args.seed,
        pass: args.pass.map(|pass| pass as usize),
        angle_rad: args.angle_deg.map(f64::to_radians),
        faults,
        late: late(args, loaded),
        ..Options::default()
    }
}

fn late(args: &DescendArgs, loaded: &Loaded) -> Option<LateFacts> {
    let news = match (args.retro_heard, args.retro_not_heard) {
        (Some(at), _) => News::Heard {
            time_s: at.duration_since(loaded.scenario.run.start.0).as_secs_f64(),
            sigma_s: args.heard_sigma_s,
        },
        (None, true) => News::NotHeard,
        (None, false) => News::None,
    };
    let drift_m = args.orbit_drift_m.map(|m| (m, args.drift_sigma_m.unwrap_or((0.1 * m.abs()).max(500.0))));
    let facts = LateFacts { news, drift_m };
    (facts != LateFacts::default()).then_some(facts)
}

fn refused(error: &DescentError) -> Exit {
    if let DescentError::Build(BuildError::Refused(refusal)) = error {
        return show(refusal);
    }
    eprintln!("stillframe: {error}. Nothing was written.");
    Exit::Refused
}
