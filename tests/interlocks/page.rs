//! The evidence as a page of the handbook, made from what the search found.

use crate::{
    model::{Action, Moment, rule},
    nominal,
    search::{Broken, Found, Returned},
    stuck::{self, Faults, Part, Stuck},
};
use std::fmt::Write;
use stillframe_controller::ordnance::{
    Side,
    order::{Arrival, Order},
    status::Inhibit,
};

/// Everything the page tells.
pub struct Evidence {
    /// Both sides: pairs on the short way down, single parts on the long one.
    pub searches: Vec<(&'static str, Found)>,
    /// Both sides.
    pub returns: [Returned; 2],
    /// The planted path.
    pub planted: Found,
}

const INHIBITS: [(Inhibit, &str); 5] = [
    (Inhibit::Clear, "contacts"),
    (Inhibit::Power, "battery"),
    (Inhibit::Arming, "arming"),
    (Inhibit::Turn, "turn"),
    (Inhibit::Moment, "moment"),
];

/// The page.
pub fn page(evidence: &Evidence) -> String {
    let mut page = String::from(
        "# Proof of the interlocks\n\n\
         Made by the search itself; a test keeps it so. It is made anew, after a change of the flight code, by\n\n\
         ```sh\nSTILLFRAME_BLESS=1 cargo test --release -p stillframe-tests --test interlocks\n```\n\n\
         which also prints the times. What the words mean, and what the search does not show, stands in \
         [Ordnance interlocks](interlocks.md).\n",
    );
    phases(&mut page);
    rules(&mut page, evidence);
    returns(&mut page, evidence);
    planted(&mut page, evidence);
    page
}

fn phases(page: &mut String) {
    page.push_str(
        "\n## Inhibits by phase of the mission\n\nAs the sequencers themselves tell them, on a flight in which all goes \
         well. ● in place, ○ removed. An event gets current only where all five are removed; between events the last two \
         are in place again.\n\n| computer | phase |",
    );
    for (_, name) in INHIBITS {
        let _ = write!(page, " {name} |");
    }
    page.push_str(" left |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (side, phase, bits) in nominal::phases() {
        let name = if side == Side::Vehicle { "vehicle" } else { "capsule" };
        let _ = write!(page, "| {name} | {phase} |");
        for (inhibit, _) in INHIBITS {
            page.push_str(if bits & inhibit as u8 == 0 { " ○ |" } else { " ● |" });
        }
        let _ = writeln!(page, " {} |", bits.count_ones());
    }
}

fn rules(page: &mut String, evidence: &Evidence) {
    page.push_str("\n## What was looked for and not found\n\n");
    for (_, rule) in rule::ALL {
        let _ = writeln!(page, "- {rule};");
    }
    page.push_str(
        "\nThe second says more than that three inhibits must be gone: all five must be, each by what should remove it, and only \
         the one or two that stick are let off.\n\n| search | starts | states | steps | depth | broken rules |\n| --- | --- | --- | --- | \
         --- | --- |\n",
    );
    for (name, found) in &evidence.searches {
        let Found { starts, states, steps, depth, broken, .. } = found;
        let _ = writeln!(page, "| {name} | {starts} | {states} | {steps} | {depth} | {} |", broken.len());
    }
    page.push_str(
        "\nWith three parts stuck together rules do break, which is where this proof ends; the search is seen to find each:\n\n",
    );
    for (_, rule, parts) in stuck::triples() {
        let name = rule::ALL.iter().find(|(bit, _)| *bit == rule).map_or("", |(_, name)| name);
        let _ = writeln!(page, "- {name}: {};", faults_text(&Faults(parts.map(Some))));
    }
    page.push_str(
        "\nA start is the pad with a set of parts that stick; a step is one thing that happens: a tick with or without an \
         order, launch, the battery's switch, the capsule's leaving, a reset. The depth is the length of the longest of \
         the shortest ways to a state.\n",
    );
}

fn returns(page: &mut String, evidence: &Evidence) {
    page.push_str(
        "\n## What stays possible\n\nFrom every state below the rest of the sequence can still be flown, unless an abort was \
         carried out. Looked at: no part stuck, and every one and two of those that do not by themselves keep something \
         from firing.\n\n| computer | starts | states | from which no way leads home |\n| --- | --- | --- | --- |\n",
    );
    for (name, returned) in ["vehicle", "capsule"].iter().zip(&evidence.returns) {
        let _ = writeln!(page, "| {name} | {} | {} | {} |", returned.starts, returned.states, returned.lost.len());
    }
    page.push_str("\nParts that by themselves keep the return from going on, by what they are:\n\n");
    for side in [Side::Vehicle, Side::Capsule] {
        let names: Vec<String> =
            stuck::singles(side).into_iter().filter(|one| stuck::keeps(*one)).map(stuck_text).collect();
        let name = if side == Side::Vehicle { "vehicle" } else { "capsule" };
        let _ = writeln!(page, "- {name}: {};", names.join(", "));
    }
    page.push_str("- of the drogue's three votes, any two that are silent.\n");
}

fn planted(page: &mut String, evidence: &Evidence) {
    page.push_str(
        "\n## A path planted on purpose\n\nThe same code with one guard taken away: the arming relay's own contact is believed \
         in place of the ground's two orders. The search finds it; no shorter way breaks a rule.\n",
    );
    for Broken { rule, faults, way } in &evidence.planted.broken {
        let _ = writeln!(page, "\nBroken: {rule}. Stuck: {}.\n", faults_text(faults));
        for (number, action) in way.iter().enumerate() {
            let _ = writeln!(page, "{}. {}", number + 1, action_text(action));
        }
    }
}

/// Parts that stick, in words.
pub fn faults_text(faults: &Faults) -> String {
    let texts: Vec<String> = faults.0.iter().flatten().map(|one| stuck_text(*one)).collect();
    if texts.is_empty() { "nothing".into() } else { texts.join(", ") }
}

fn stuck_text(Stuck { part, on }: Stuck) -> String {
    let (name, states) = match part {
        Part::Carrier => ("carrier's loop".into(), ["closed", "open"]),
        Part::Left => ("contact beside it".into(), ["closed", "open"]),
        Part::Umbilical => ("umbilical".into(), ["closed", "open"]),
        Part::Battery => ("battery's switch".into(), ["open", "closed"]),
        Part::Relay => ("arming relay".into(), ["open", "welded"]),
        Part::Commit => ("commit switch".into(), ["open", "welded"]),
        Part::Line(event) => (format!("line of {}", event.name()), ["open", "welded"]),
        Part::Wire(event) => (format!("bridgewire of {}", event.name()), ["reads whole", "reads open"]),
        Part::Effect(event) => (format!("contact of {}", event.name()), ["never shows", "always shows"]),
        Part::CoilLatch => ("abort latch in the coil".into(), ["dead", "thrown"]),
        Part::LineLatch => ("abort latch on the lines".into(), ["dead", "thrown"]),
        Part::Word => ("retained word".into(), ["lost", "kept"]),
        Part::Attitude => ("attitude".into(), ["always bad", "always good"]),
        Part::Film => ("seal's sense".into(), ["never", "always"]),
        Part::CapsuleArmed => ("capsule's word that it is armed".into(), ["never", "always"]),
        Part::Spin => ("spin".into(), ["always bad", "always good"]),
        Part::Deceleration => ("deceleration switch".into(), ["open", "closed"]),
        Part::Timer => ("backup timer".into(), ["dead", "run out"]),
    };
    // A latch that is thrown keeps from firing, but it sticks on as the part it is.
    format!("{name} {}", states[usize::from(on)])
}

/// Something that happens, in words.
pub fn action_text(action: &Action) -> String {
    match action {
        Action::Launch => "the carrier lets the vehicle go".into(),
        Action::Leave => "the capsule leaves the vehicle".into(),
        Action::Battery(true) => "the receiver's decoder closes the battery's switch".into(),
        Action::Battery(false) => "the receiver's decoder opens the battery's switch".into(),
        Action::Reset => "the processor is reset".into(),
        Action::Tick(arrival, moment) => {
            let what = match arrival {
                None => "a tick without an order".into(),
                Some(Arrival::Garbled | Arrival::Repeated) => "a spoilt order".into(),
                Some(Arrival::Order(Order::Arm(token))) => format!("arm, token {token}"),
                Some(Arrival::Order(Order::Confirm(token))) => format!("confirm, token {token}"),
                Some(Arrival::Order(Order::Go(event, token))) => format!("go for {}, token {token}", event.name()),
                Some(Arrival::Order(Order::Safe)) => "make safe".into(),
                Some(Arrival::Order(Order::Abort)) => "abort".into(),
            };
            let when = match moment {
                Moment::Good => "",
                Moment::Unsteady => ", attitude or spin outside the limits",
                Moment::Unsealed => ", film not sealed",
                Moment::Unarmed => ", capsule not armed",
            };
            format!("{what}{when}")
        }
    }
}
