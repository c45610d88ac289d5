//! Lives, limits and times of the ordnance sequence.

use crate::settings_group;

settings_group! {
    /// Ordnance sequence of vehicle and capsule.
    OrdnanceSettings = "ordnance" {
        confirm_life_ticks: u32 = 6000, 1 ..= 60000, "ticks", "How long an offer to arm waits for its confirmation.";
        arm_life_ticks: u32 = 12000, 1 ..= 120000, "ticks", "How long the vehicle stays armed.";
        capsule_arm_life_ticks: u32 = 60000, 1 ..= 600000, "ticks", "How long the capsule stays armed while it waits to be let go.";
        wave_off_ticks: u32 = 533400, 1 ..= 2000000, "ticks", "How long no arming is accepted after attitude or rates were outside their limits at the moment of firing: one revolution.";
        pointing_limit_deg: f32 = 2.0, 0.1 ..= 5.0, "deg", "Largest error of attitude at which cover or capsule are let go.";
        rate_limit_deg_s: f32 = 0.5, 0.01 ..= 2.0, "deg/s", "Largest rate at which cover or capsule are let go.";
        recovery_least_v: f32 = 24.0, 5.0 ..= 60.0, "V", "Least voltage of the recovery battery behind its switch.";
        pulse_ticks: u32 = 5, 1 ..= 50, "ticks", "Longest time for which an event gets current; it ends when the bridgewire opens.";
        show_ticks: u32 = 200, 1 ..= 6000, "ticks", "How long after the current an event may take to show itself done.";
        window_ticks: u32 = 300, 1 ..= 6000, "ticks", "How long spin or retro ignition may wait for what they need, before the sequence stops.";
        spin_delay_ticks: u32 = 200, 1 ..= 6000, "ticks", "From the capsule's leaving to spin.";
        retro_delay_ticks: u32 = 500, 1 ..= 60000, "ticks", "From spin to retro ignition.";
        despin_delay_ticks: u32 = 1500, 1 ..= 60000, "ticks", "From retro ignition to despin: the burn and a reserve.";
        release_delay_ticks: u32 = 200, 1 ..= 6000, "ticks", "From despin to the motor's release.";
        spin_min_rpm: f32 = 50.0, 1.0 ..= 300.0, "rpm", "Least spin at which the retro motor is lit.";
        spin_max_rpm: f32 = 70.0, 1.0 ..= 300.0, "rpm", "Most spin at which the retro motor is lit.";
        g_open_ticks: u32 = 30000, 1 ..= 400000, "ticks", "From retro ignition to when the deceleration switch is first listened to.";
        g_hold_ticks: u32 = 100, 1 ..= 6000, "ticks", "How long the deceleration switch must stay closed to be believed.";
        drogue_ticks: u32 = 66000, 1 ..= 600000, "ticks", "From retro ignition to the drogue by the capsule's own count; no sooner than the canopy bears.";
        main_delay_ticks: u32 = 3000, 1 ..= 60000, "ticks", "From the drogue to the main canopy.";
    }
}

impl OrdnanceSettings {
    /// From one event's showing to the next event, ticks.
    pub(super) fn delay_ticks(&self, event: super::event::Event) -> u32 {
        use super::event::Event;
        match event {
            Event::CoverRelease | Event::CapsuleSeparation | Event::Drogue => 0,
            Event::Spin => self.spin_delay_ticks,
            Event::RetroIgnition => self.retro_delay_ticks,
            Event::Despin => self.despin_delay_ticks,
            Event::MotorRelease => self.release_delay_ticks,
            Event::Main => self.main_delay_ticks,
        }
    }
}
