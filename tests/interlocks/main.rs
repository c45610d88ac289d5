//! The ordnance interlocks: every state of the real sequencers that can be reached, and what must never be in any of them.

mod circuit;
mod model;
mod search;
mod stuck;

use search::{flown, search};
use stillframe_controller::ordnance::Side;

fn show(found: &search::Found) {
    println!(
        "starts {} states {} steps {} depth {} {:?}",
        found.starts, found.states, found.steps, found.depth, found.time
    );
    for broken in found.broken.iter().take(3) {
        println!("BROKEN {}: {:?}", broken.rule, broken.faults);
        for action in &broken.way {
            println!("     {action:?}");
        }
    }
}

#[test]
fn size() {
    for side in [Side::Vehicle, Side::Capsule] {
        let all = stuck::all(side);
        println!("{side:?} starts {}", all.len());
        show(&search(&flown(side, search::SHORT, all[..1 + stuck::singles(side).len()].to_vec())));
        show(&search(&flown(side, search::LONG, all[..1].to_vec())));
        show(&search::shortest(&search::planted(side, all[..1 + stuck::singles(side).len()].to_vec())).unwrap());
        let from = std::time::Instant::now();
        let (states, lost) = search::return_stays_possible(side, 1);
        println!("return {states} states {:?}", from.elapsed());
        for (faults, way) in lost {
            println!("LOST {faults:?}");
            for action in &way {
                println!("     {action:?}");
            }
        }
    }
}
