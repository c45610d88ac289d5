//! Lines: sockets carry what a process-internal line carries; what is not a board is told apart.

use crate::{edge, order, over};
use std::{io, net::TcpListener, os::unix::net::UnixListener, thread, time::Duration};
use stillframe_hil::{
    board::{Board, BoardError},
    line::{Address, How, Line, stand_in::StandIn},
    lockstep,
};

fn flies_over(address: &Address) {
    let folder = tempfile::tempdir().unwrap();
    let (mut board, greeting) = Board::open(address, How::default()).unwrap();
    assert!(greeting.clock_hz > 0);
    let outcome = lockstep::fly(&mut board, &edge(600), &order(folder.path()), &mut |_, _| {}).unwrap();
    assert_eq!((outcome.ticks, outcome.found.is_none()), (600, true));
    board.end().unwrap();
}

#[test]
fn a_unix_socket_and_a_tcp_port_carry_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("board");
    let listener = UnixListener::bind(&path).unwrap();
    let served = thread::spawn(move || StandIn::new().serve(&mut listener.accept().unwrap().0));
    flies_over(&Address::Unix(path));
    served.join().unwrap().unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let place = listener.local_addr().unwrap().to_string();
    let served = thread::spawn(move || StandIn::new().serve(&mut listener.accept().unwrap().0));
    flies_over(&Address::Tcp(place));
    served.join().unwrap().unwrap();
}

/// Answers everything with the same bytes.
struct Parrot(&'static [u8]);

impl Line for Parrot {
    fn send(&mut self, _: &[u8]) -> io::Result<()> {
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> io::Result<usize> {
        into[..self.0.len()].copy_from_slice(self.0);
        Ok(self.0.len())
    }
}

#[test]
fn silence_and_foreign_talk_are_told_apart() {
    let silent = over(Parrot(&[])).greet();
    assert!(matches!(silent, Err(BoardError::Silent { .. })), "{silent:?}");
    let foreign = over(Parrot(b"\0Hello there\0")).greet();
    let Err(error @ BoardError::Garbled { .. }) = foreign else { panic!("{foreign:?}") };
    assert!(error.to_string().contains("version"), "{error}");
}

#[test]
fn settings_that_the_controller_refuses_are_refused_by_the_board() {
    let refused = over(StandIn::new()).begin(&stillframe_controller::settings::Settings::default(), &[]);
    assert!(matches!(refused, Err(BoardError::Refused { .. })), "{refused:?}");
}
