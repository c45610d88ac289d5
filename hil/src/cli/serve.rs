//! `stand-in`: a board on a socket.

use super::{args::StandInArgs, exit::Exit, show};
use crate::line::{Address, stand_in::StandIn};
use std::{io, net::TcpListener, os::unix::net::UnixListener};

pub(super) fn serve(args: &StandInArgs) -> Result<(), Exit> {
    let served = match &args.place {
        Address::Unix(path) => unix(path),
        Address::Tcp(place) => tcp(place),
        _ => {
            show::complain("a stand-in listens on unix:PATH or tcp:HOST:PORT");
            return Err(Exit::Refused);
        }
    };
    served.map_err(|error| {
        show::complain(format!("{}: {error}", args.place));
        Exit::Files
    })
}

fn unix(path: &std::path::Path) -> io::Result<()> {
    let listener = UnixListener::bind(path)?;
    for stream in listener.incoming() {
        one(&mut stream?);
    }
    Ok(())
}

fn tcp(place: &str) -> io::Result<()> {
    let listener = TcpListener::bind(place)?;
    for stream in listener.incoming() {
        let mut stream = stream?;
        stream.set_nodelay(true)?;
        one(&mut stream);
    }
    Ok(())
}

/// Serves a caller; one who hangs up in the middle of something does not end the stand-in.
fn one(stream: &mut (impl io::Read + io::Write)) {
    if let Err(error) = StandIn::new().serve(stream) {
        show::complain(error);
    }
}
