//! Wire faults: nothing is acted on but sound frames, and the exchange recovers.

use crate::{edge, order};
use stillframe_hil::{line::Address, wire_faults::campaign};

#[test]
fn five_hundred_faults_change_nothing_but_the_time_it_takes() {
    let folder = tempfile::tempdir().unwrap();
    let result = campaign(&Address::StandIn, &edge(7_200), &order(folder.path()), (7, 500), &mut |_| {}).unwrap();
    assert!(result.good(), "{result:?}");
    assert!(result.faults >= 500 && result.ticks >= 7_200);
    // Each kind came in each direction, and each was noticed at least once: the faults do reach the messages.
    for row in &result.rows {
        let noticed = row.board_said_so + row.bench_said_so + row.nothing_came;
        assert!(row.injected > 0 && noticed > 0, "{row:?}");
        assert_eq!(row.injected, row.no_effect + noticed);
    }
    // Each long silence made outputs safe, and the next step took them up again.
    assert!(result.silences > 50 && result.link_losses >= result.silences, "{result:?}");
    // A line without faults asks nothing again; this one did.
    assert!(result.line.asked_again > 300 && result.line.refused_by_board > 100);
}
