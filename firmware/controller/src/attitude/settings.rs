//! Settings of the attitude loop.

use crate::settings_group;

settings_group! {
    /// The vehicle as the law believes it.
    BodySettings = "body" {
        inertia_roll_kg_m2: f32 = 75.0, 1.0 ..= 100000.0, "kg·m²", "Moment of inertia about x.";
        inertia_pitch_kg_m2: f32 = 310.0, 1.0 ..= 100000.0, "kg·m²", "Moment of inertia about y.";
        inertia_yaw_kg_m2: f32 = 310.0, 1.0 ..= 100000.0, "kg·m²", "Moment of inertia about z.";
        mass_kg: f32 = 420.0, 1.0 ..= 1000000.0, "kg", "Mass as loaded. Inertia and places hold for this, with half the film on either reel.";
        film_travel_x_m: f32 = 1.6, -20.0 ..= 20.0, "m", "From the supply reel to the take-up reel, along x: film that winds over moves the centre of mass.";
        film_travel_y_m: f32 = 0.0, -20.0 ..= 20.0, "m", "The same along y.";
        film_travel_z_m: f32 = 0.0, -20.0 ..= 20.0, "m", "The same along z.";
        tank_x_m: f32 = 0.0, -20.0 ..= 20.0, "m", "Middle of the gas tank from the centre of mass, along x.";
        tank_y_m: f32 = 0.0, -20.0 ..= 20.0, "m", "The same along y.";
        tank_z_m: f32 = -0.3, -20.0 ..= 20.0, "m", "The same along z.";
    }
}

settings_group! {
    /// What the estimate makes of the horizon sensor and the gyros.
    ObserverSettings = "observer" {
        tilt_time_s: f32 = 60.0, 1.0 ..= 1000.0, "s", "Time in which the horizon sensor pulls the gyros' roll and pitch its way.";
        yaw_time_s: f32 = 600.0, 60.0 ..= 10000.0, "s", "Time in which the gyrocompass takes out a yaw error.";
        drift_time_s: f32 = 3000.0, 100.0 ..= 100000.0, "s", "Time in which the drift of the pitch and yaw gyros is learned.";
        drift_limit_deg_h: f32 = 5.0, 0.0 ..= 100.0, "deg/h", "Largest gyro drift the estimate will believe while horizon and gyros agree.";
        rate_time_s: f32 = 1.0, 0.1 ..= 20.0, "s", "Smoothing of the body rates.";
        disturbance_time_s: f32 = 100.0, 10.0 ..= 5000.0, "s", "Time in which a steady disturbance torque is learned.";
        disturbance_doubt_deg_s2: f32 = 7e-6, 0.0 ..= 0.01, "deg/s²", "A disturbance estimated smaller than this is taken for noise: pulses are not sized to it.";
        gyro_range_deg_s: f32 = 5.0, 0.5 ..= 100.0, "deg/s", "Gyro readings beyond this are taken as saturated.";
        horizon_gate_deg: f32 = 0.3, 0.1 ..= 10.0, "deg", "Horizon readings that on the mean of 3 s are further than this from the estimate are not used.";
        horizon_noise_deg: f32 = 0.2, 0.01 ..= 10.0, "deg", "Scatter of the horizon readings above which the sensor counts as noisy.";
        horizon_agree_samples: u32 = 30, 1 ..= 1000, "samples", "Readings in a row that must agree before a distrusted horizon sensor is used again.";
        horizon_doubt_s: f32 = 900.0, 10.0 ..= 10000.0, "s", "Longest hold on gyros alone while the horizon sensor shows no Earth; past it the vehicle levels itself anew. Fine hold ends then in any case.";
        horizon_hold_s: f32 = 5400.0, 10.0 ..= 100000.0, "s", "Longest hold on gyros alone while the sensor shows an Earth elsewhere (the Sun in its scan).";
        yaw_moved_deg: f32 = 0.8, 0.1 ..= 10.0, "deg", "Yaw by which the compass may move the estimate against the gyros within half an hour; beyond it yaw is doubtful.";
        level_time_s: f32 = 5.0, 1.0 ..= 60.0, "s", "Horizon blending time while levelling, before the heading is known.";
        level_rate_time_s: f32 = 15.0, 2.0 ..= 200.0, "s", "Time in which the orbital rate in body axes is learned while levelling.";
        heading_wait_s: f32 = 120.0, 10.0 ..= 2000.0, "s", "Levelling time before the heading is read from the orbital rate.";
        settle_s: f32 = 1500.0, 0.0 ..= 10000.0, "s", "Time after the heading is known until fine hold is allowed.";
    }
}

settings_group! {
    /// Slews, searches and the ways between modes.
    SteeringSettings = "steering" {
        crab: u32 = 1, 0 ..= 1, "0 or 1", "1 yaws the camera to follow the ground's drift; 0 leaves yaw at zero.";
        damp_rate_deg_s: f32 = 0.05, 0.005 ..= 1.0, "deg/s", "Tip-off rates are taken off until all three are below this.";
        watch_s: f32 = 150.0, 0.0 ..= 3600.0, "s", "After tip-off the tumbling vehicle looks out for the Earth for so long before it takes its rates off.";
        search_rate_deg_s: f32 = 0.5, 0.05 ..= 3.0, "deg/s", "Turning rate about roll while looking for the Earth; about pitch half of it.";
        search_wait_s: f32 = 3400.0, 0.0 ..= 20000.0, "s", "Time for which the search turns about roll alone: half a revolution and one turn bring the Earth into the sensor's band whatever the attitude.";
        capture_rate_deg_s: f32 = 0.15, 0.01 ..= 3.0, "deg/s", "Turning rate toward the Earth and to the heading before the compass has settled: slow turns cost little gas.";
        lost_s: f32 = 20.0, 1.0 ..= 600.0, "s", "Time without a horizon, after damping, before the search begins.";
        coarse_factor: f32 = 3.0, 1.0 ..= 10.0, "–", "Coarse deadbands are this many times the fine ones.";
        noisy_factor: f32 = 1.5, 1.0 ..= 10.0, "–", "Fine deadbands are this many times wider while the horizon sensor is noisy.";
        quiet_lead_s: f32 = 1.6, 0.1 ..= 30.0, "s", "The state for a quiet burst is placed this long before the shutter opens: before film starts.";
        quiet_hold_s: f32 = 3.0, 0.0 ..= 60.0, "s", "Ordinary firing is held off from this long before the shutter opens.";
        quiet_factor: f32 = 2.0, 1.0 ..= 10.0, "–", "During a burst nothing fires inside this many fine deadbands.";
        quiet_longest_s: f32 = 40.0, 1.0 ..= 600.0, "s", "Longest burst a single placement is meant to cover; later placements follow at this interval.";
        film_feed_forward: u32 = 1, 0 ..= 1, "0 or 1", "1 tells the rate estimate of the film's momentum and places the state against the kick to come; 0 leaves both to the gyros.";
        kick_least_deg_s: f32 = 0.0015, 0.0 ..= 1.0, "deg/s", "A start-up that turns the vehicle by less than this does not show the sense of the reels.";
        kick_watch_s: f32 = 2.0, 0.2 ..= 30.0, "s", "Time from film start after which the gyros' answer is held against the kick told.";
    }
}

settings_group! {
    /// The commanded turn to an attitude held by the gyros, and back.
    TurnSettings = "turn" {
        yaw_deg: f32 = 0.0, -180.0 ..= 180.0, "deg", "Attitude turned to, against the local orbital frame: yaw, the first turn.";
        pitch_deg: f32 = -126.0, -180.0 ..= 180.0, "deg", "The same: pitch, the second turn. -126 lays body x 126° from the velocity and downward, for a motor that pushes along it.";
        roll_deg: f32 = 0.0, -180.0 ..= 180.0, "deg", "The same: roll, the third turn.";
        rate_deg_s: f32 = 0.3, 0.02 ..= 2.0, "deg/s", "Turning rate, by the shortest way.";
        ramp_share: f32 = 0.5, 0.1 ..= 0.8, "–", "Share of the weakest axis' jets with which the turn is sped up and stopped.";
        longest_s: f32 = 1800.0, 60.0 ..= 7200.0, "s", "Longest time from the start of the turn until the way back begins by itself.";
        sight_deg: f32 = 10.0, 1.0 ..= 60.0, "deg", "Tilt beyond which the horizon sensor is set aside during a turn.";
        settled_deg: f32 = 1.0, 0.05 ..= 10.0, "deg", "Turned counts as settled with a pointing error below this.";
        settled_deg_s: f32 = 0.05, 0.002 ..= 1.0, "deg/s", "Turned counts as settled with a rate error below this.";
        start_deg: f32 = 0.6, 0.0 ..= 10.0, "deg", "What the attitude estimate may be off by when the turn begins (the compass' 3σ).";
        gyro_share: f32 = 0.002, 0.0 ..= 0.1, "–", "What the gyros' scale and alignment add to that, as a share of the angle turned away.";
        drift_deg_h: f32 = 1.0, 0.0 ..= 100.0, "deg/h", "What gyro drift adds while the horizon sensor is set aside.";
    }
}

/// Declares one axis' switching group: the same keys, its own defaults.
macro_rules! switching_group {
    ($(#[$doc:meta])* $name:ident = $group:literal, deadband $deadband:literal, rate $rate:literal) => {
        settings_group! {
            $(#[$doc])*
            $name = $group {
                deadband_deg: f32 = $deadband, 0.01 ..= 10.0, "deg", "Half-width of the fine deadband.";
                lead_s: f32 = 5.0, 0.0 ..= 60.0, "s", "Weight of rate against angle on the switching line.";
                rate_limit_deg_s: f32 = $rate, 0.005 ..= 3.0, "deg/s", "Turning rate in large corrections.";
                fill: f32 = 0.7, 0.05 ..= 0.95, "–", "Share of the deadband that a one-sided limit cycle may use.";
                minimum_pulse_ms: u32 = 20, 5 ..= 200, "ms", "Shortest valve opening.";
                longest_pulse_ms: u32 = 1000, 20 ..= 5000, "ms", "Longest valve opening before the state is looked at again.";
                lockout_ms: u32 = 150, 0 ..= 5000, "ms", "Rest after a pulse, so that delay cannot double it.";
            }
        }
    };
}

switching_group! {
    /// Switching law of the roll axis.
    RollSwitching = "roll", deadband 0.4, rate 0.3
}
switching_group! {
    /// Switching law of the pitch axis.
    PitchSwitching = "pitch", deadband 0.3, rate 0.3
}
switching_group! {
    /// Switching law of the yaw axis.
    YawSwitching = "yaw", deadband 0.3, rate 0.3
}

settings_group! {
    /// One jet: where it sits, which way it pushes the vehicle, and how hard.
    JetSettings = "jet" {
        bank: u32 = 0, 0 ..= 1, "0 or 1", "Which latch valve feeds it.";
        x_m: f32 = 0.0, -20.0 ..= 20.0, "m", "Place from the centre of mass, along x.";
        y_m: f32 = 0.0, -20.0 ..= 20.0, "m", "Place from the centre of mass, along y.";
        z_m: f32 = 0.0, -20.0 ..= 20.0, "m", "Place from the centre of mass, along z.";
        push_x: f32 = 0.0, -1.0 ..= 1.0, "–", "Direction of the force on the vehicle, x part of a unit vector.";
        push_y: f32 = 0.0, -1.0 ..= 1.0, "–", "Direction of the force on the vehicle, y part of a unit vector.";
        push_z: f32 = 0.0, -1.0 ..= 1.0, "–", "Direction of the force on the vehicle, z part of a unit vector.";
        thrust_n: f32 = 0.5, 0.001 ..= 1000.0, "N", "Thrust.";
    }
}
