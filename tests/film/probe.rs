use crate::rig::*;
use stillframe_controller::film::*;
#[test]
fn probe_speed() {
    for wound in [0.0, 449.0, 880.0] {
        let mut rig = Rig::strip(wound);
        rig.run(50, Demand::Rest);
        let d = Demand::Run { speed_m_s: SPEED_M_S };
        let t = rig.until(200, d, |r| r.transport.status().valid);
        let range = rig.tension_n;
        println!("valid after {t} ticks, T {range:?} arm {:.2}", rig.arm_m*1e3);
        rig.forget_extremes();
        rig.run(200, d);
        let a = rig.plant.slit_travel_m();
        let (mut lo, mut hi) = (1.0f64, 0.0f64);
        let mut prev = a;
        let (mut tlo, mut thi) = (1.0f64, 0.0f64);
        for _ in 0..3000 { rig.step(d); let v = rig.plant.speed_m_s(); lo = lo.min(v); hi = hi.max(v);
            let now = rig.plant.slit_travel_m(); let v=(now-prev)/0.01; prev=now; tlo=tlo.min(v); thi=thi.max(v); }
        let mean = (rig.plant.slit_travel_m() - a) / 30.0;
        println!("mean err {:.4} % wow {:.3} {:.3} % per tick {:.3} {:.3} T {:?} arm {:.2} h {:.5} res {:?} power {}", (mean/0.0341-1.0)*100.0, (lo/0.0341-1.0)*100.0, (hi/0.0341-1.0)*100.0, (tlo/0.0341-1.0)*100.0, (thi/0.0341-1.0)*100.0, rig.tension_n, rig.arm_m*1e3, rig.plant.momentum_nms(), rig.transport.status().residual, rig.plant.electric_power_w());
        rig.forget_extremes();
        let t = rig.until(400, Demand::Rest, |r| r.state() == State::Braked);
        rig.run(50, Demand::Rest);
        println!("braked after {t} ticks, T {:?} arm {:.2} asleep {} sum {:e} h {:e}", rig.tension_n, rig.arm_m*1e3, rig.plant.asleep(), rig.reaction_nms, rig.plant.momentum_nms());
    }
}
#[test]
fn probe_frames() {
    for wound in [0.0, 449.0, 870.0] {
        let mut c = Camera::framing(wound);
        c.cycle_ticks = 220;
        c.run(50, false, 341);
        let mut last = c.phase();
        let mut since = 0;
        for k in 0..1500 {
            c.step(true, 341);
            since += 1;
            if c.phase() != last { print!(" {last:?}:{since}"); last = c.phase(); since = 0; }
            if k % 50 == 0 { println!("\n{k} {:?} T {:.2?} arms {:.1?} v {:.3?} late {}", c.rig.state(), c.rig.plant.tension_n(), c.rig.plant.arms().map(|a| a.0*1e3), c.rig.plant.speeds_m_s(), c.sequencer.status().late); }
        }
        println!("\nT {:?} arm {:.1} marks {} status {:?} {:?}", c.rig.tension_n, c.rig.arm_m*1e3, c.marks.len(), c.sequencer.status(), c.rig.transport.status());
        for w in c.marks.windows(2) { print!("{} ", (w[1].began_counts - w[0].began_counts) as f64 * 0.02*std::f64::consts::TAU/32768.0*1e3); }
        println!();
        for k in 0..800 { c.step(false, 341); if k % 50 == 0 { println!("{k} {:?} {:?} arms {:.1?} ", c.phase(), c.rig.state(), c.rig.plant.arms().map(|a| a.0*1e3)); } }
    }
}
#[test]
fn probe_cost() {
    let cost = |name: &str, n: u32, f: &mut dyn FnMut()| {
        let t = std::time::Instant::now();
        for _ in 0..n { f(); }
        println!("{name}: {:.1} ns", t.elapsed().as_secs_f64()*1e9/n as f64);
    };
    let mut rig = Rig::strip(449.0);
    let d = Demand::Run { speed_m_s: SPEED_M_S };
    rig.run(300, d);
    let drive = rig.drive;
    let mut p = rig.plant.clone();
    cost("plant running", 20000, &mut || { p.advance(0.01, &drive, 0.0); });
    let mut t = rig.transport.clone();
    let s = rig.plant.sample(false);
    let mut s2 = s;
    cost("transport running", 200000, &mut || { s2.roller_counts = s2.roller_counts.wrapping_add(89); std::hint::black_box(t.step(&s2, d)); });
    println!("{:?}", t.status().state);
    cost("sample", 200000, &mut || { std::hint::black_box(rig.plant.sample(false)); });
    rig.run(300, Demand::Rest);
    let mut p = rig.plant.clone();
    let drive = rig.drive;
    cost("plant at rest", 2000000, &mut || { std::hint::black_box(p.advance(0.01, &drive, 0.0)); });
    let mut t = rig.transport.clone();
    let s = rig.plant.sample(false);
    cost("transport at rest", 2000000, &mut || { std::hint::black_box(t.step(&s, Demand::Rest)); });
    let mut c = Camera::strip(10.0);
    c.run(100, false, 341);
    cost("camera loop at rest", 200000, &mut || { c.step(false, 341); });
}
