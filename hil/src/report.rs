//! Results as tables, for the screen and for pages in the form of the simulator's report.

use crate::{
    cost::SpreadNumbers,
    phasing,
    summary::BenchSummary,
    upsets::{Outcome, Upsets},
    wire_faults::WireFaults,
};
use stillframe::report::plain::{Block, Grid, Sheet};

const OUTCOMES: [(Outcome, &str); 8] = [
    (Outcome::NoEffect, "no effect"),
    (Outcome::Recovered, "other answers for a while"),
    (Outcome::OtherAnswers, "other answers, in range"),
    (Outcome::Refused, "refused by the board"),
    (Outcome::ResetWithRecord, "reset, safe, with a record"),
    (Outcome::Reset, "reset, safe, no record"),
    (Outcome::Unsafe, "UNSAFE"),
    (Outcome::Hang, "HANG"),
];

/// A page with a heading for each of its sections.
fn sheet(kind: &str, title: &str, verdict: (bool, String), sections: Vec<(&str, Vec<Block>)>) -> Sheet {
    let sections = sections.into_iter().map(|(heading, blocks)| (heading.to_owned(), blocks)).collect();
    Sheet { kind: format!("Bench · {kind}"), title: title.into(), verdict, sections }
}

/// The page of a lockstep run or a replay.
pub fn lockstep(summary: &BenchSummary) -> Sheet {
    let verdict = match &summary.first_difference {
        None => (true, format!("Board and desk asked for the same in all {} ticks, bit for bit.", summary.ticks)),
        Some(at) => {
            let d = &at.difference;
            let place = format!("First different in tick {} ({:.2} s): {}", at.tick, at.time_s, d.field);
            (false, format!("{place}. Desk {} ({}), board {} ({}).", d.desk, d.desk_bits, d.board, d.board_bits))
        }
    };
    let mut log = Grid::new(&["time, s", "level", "message"]);
    for entry in &summary.log {
        log.row([format!("{:.2}", entry.time_s), entry.level.clone(), entry.text.clone()]);
    }
    let told =
        if summary.log.is_empty() { Block::Text("Nothing, or no log was read.".into()) } else { Block::Table(log) };
    let sections = vec![
        ("The run", vec![Block::Table(run(summary))]),
        ("Step cost and latency", vec![Block::Table(costs(summary))]),
        ("The line and the board", vec![Block::Table(counters(summary))]),
        ("What the board logged", vec![told]),
    ];
    sheet(&summary.command, &summary.scenario, verdict, sections)
}

fn run(summary: &BenchSummary) -> Grid {
    let mut grid = Grid::new(&["what", "is"]);
    let seed = summary.seed.map_or("none".into(), |seed| seed.to_string());
    for (what, is) in [
        ("board", summary.board.clone()),
        ("seed", seed),
        ("base ticks", summary.ticks.to_string()),
        ("wall-clock time, s", format!("{:.1}", summary.wall_s)),
        ("exchanges in a second", format!("{:.0}", summary.exchanges_per_s)),
    ] {
        grid.row([what.to_owned(), is]);
    }
    grid
}

fn costs(summary: &BenchSummary) -> Grid {
    let mut grid = Grid::new(&["what", "unit", "count", "least", "median", "99 %", "most", "mean"]);
    let cost = &summary.step_cost;
    let unit = cost.unit.as_str();
    let rows = [
        ("film tick", unit, cost.film),
        ("attitude tick", unit, cost.attitude),
        ("1 Hz tick", unit, cost.second),
        ("question to answer", "µs", summary.latency_us),
    ];
    for (what, unit, spread) in rows {
        if let Some(SpreadNumbers { count, least, median, p99, most, mean }) = spread {
            let numbers = [least, median, p99, most, mean].map(|number| format!("{number:.0}"));
            grid.row([what.to_owned(), unit.to_owned(), count.to_string()].into_iter().chain(numbers));
        }
    }
    grid
}

fn counters(summary: &BenchSummary) -> Grid {
    let mut grid = Grid::new(&["counter", "value"]);
    let mut add = |what: &str, value: u64| grid.row([what.to_owned(), value.to_string()]);
    let line = &summary.line;
    add("questions asked again", line.asked_again);
    add("frames that the board refused", line.refused_by_board);
    add("frames from the board that were no message", line.bad_from_board);
    add("bytes to the board", line.bytes_up);
    add("bytes from the board", line.bytes_down);
    if let Some(stats) = &summary.board_stats {
        add("steps the board took since its reset", stats.steps.into());
        add("bytes the board lost", stats.lost_bytes.into());
        add("times that outputs went safe for want of steps", stats.link_losses.into());
        add("stack used, bytes", stats.stack_used.into());
        add("stack set apart, bytes", stats.stack_size.into());
    }
    grid
}

/// What became of wire faults, by kind and direction.
pub fn wire_fault_table(result: &WireFaults) -> Grid {
    let mut grid = Grid::new(&[
        "fault",
        "way",
        "injected",
        "no effect",
        "board said so",
        "bench said so",
        "nothing came",
        "most questions",
    ]);
    for row in &result.rows {
        let counts = [row.injected, row.no_effect, row.board_said_so, row.bench_said_so, row.nothing_came];
        let counts = counts.into_iter().chain([row.most_attempts.into()]).map(|count| count.to_string());
        grid.row([row.fault.clone(), row.way.clone()].into_iter().chain(counts));
    }
    grid
}

/// What a campaign of wire faults came to, line by line.
pub fn wire_fault_lines(result: &WireFaults) -> Vec<String> {
    let equal = match &result.first_difference {
        None => "board and desk asked for the same in every tick, bit for bit".to_owned(),
        Some(difference) => format!("DIFFERENT: {difference}"),
    };
    vec![
        format!(
            "{} faults in {} ticks of {} flights; {} steps taken on the board",
            result.faults, result.ticks, result.flights, result.board_steps
        ),
        format!("at most {} questions for an answer (allowed: {})", result.most_attempts, result.allowed_attempts),
        format!(
            "{} long silences in the loop; outputs went safe {} times for want of steps",
            result.silences, result.link_losses
        ),
        equal,
    ]
}

/// The page of a campaign of wire faults.
pub fn wire_faults(result: &WireFaults) -> Sheet {
    let verdict = if result.good() { "Nothing was acted on but sound frames." } else { "SOMETHING IS WRONG." };
    let lines = wire_fault_lines(result).into_iter().map(Block::Text).collect();
    let sections = vec![("What they came to", lines), ("By kind", vec![Block::Table(wire_fault_table(result))])];
    sheet("wire faults", &format!("Seed {}", result.seed), (result.good(), verdict.into()), sections)
}

/// How upsets ended: all, and those in registers, in the stack and elsewhere in memory.
pub fn upset_table(result: &Upsets) -> Grid {
    let mut grid = Grid::new(&["outcome", "all", "registers", "memory"]);
    for (outcome, name) in OUTCOMES {
        let all = result.upsets.iter().filter(|upset| upset.outcome == outcome);
        let (registers, memory): (Vec<_>, Vec<_>) = all.partition(|upset| upset.place.starts_with('r'));
        let counts = [registers.len() + memory.len(), registers.len(), memory.len()];
        grid.row([name.to_owned()].into_iter().chain(counts.map(|count| count.to_string())));
    }
    grid
}

/// Upsets that must not be.
pub fn upsets_gone_wrong(result: &Upsets) -> Vec<String> {
    let bad = [Outcome::Unsafe, Outcome::Hang];
    let wrong = result.upsets.iter().filter(|upset| bad.contains(&upset.outcome));
    wrong.map(|u| format!("{:?}: tick {}, {} bit {}: {}", u.outcome, u.tick, u.place, u.bit, u.note)).collect()
}

/// The page of a campaign of upsets.
pub fn upsets(result: &Upsets) -> Sheet {
    let verdict = if result.good() { "No unsafe output and no hang." } else { "UNSAFE OUTPUTS OR A HANG." };
    let mut each = Grid::new(&["tick", "place", "bit", "ended", "note"]);
    for upset in result.upsets.iter().filter(|upset| upset.outcome != Outcome::NoEffect) {
        let ended = OUTCOMES.iter().find(|(outcome, _)| *outcome == upset.outcome).map_or("", |(_, name)| name);
        each.row([
            upset.tick.to_string(),
            upset.place.clone(),
            upset.bit.to_string(),
            ended.to_owned(),
            upset.note.clone(),
        ]);
    }
    let sections = vec![
        ("How they ended", vec![Block::Table(upset_table(result))]),
        ("Those that had an effect", vec![Block::Table(each)]),
    ];
    let title = format!("{} upsets, seed {}", result.upsets.len(), result.seed);
    sheet("memory upsets", &title, (result.good(), verdict.into()), sections)
}

/// The phasing table.
pub fn phasing_table(rows: &[phasing::Row]) -> Grid {
    let mut grid = Grid::new(&["", "wire", "moved", "must answer", "answered"]);
    for row in rows {
        let mark = if row.good { "good" } else { "WRONG" };
        let words = [mark, &row.wire, &row.moved, &row.wanted, &row.seen];
        grid.row(words.map(str::to_owned));
    }
    grid
}

/// The page of a phasing round.
pub fn phasing(rows: &[phasing::Row], board: &str) -> Sheet {
    let wrong = rows.iter().filter(|row| !row.good).count();
    let verdict = match wrong {
        0 => format!("All {} right.", rows.len()),
        _ => format!("{wrong} of {} WRONG.", rows.len()),
    };
    sheet("phasing", board, (wrong == 0, verdict), vec![("Wires", vec![Block::Table(phasing_table(rows))])])
}
