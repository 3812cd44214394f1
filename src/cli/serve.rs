//! `hardstart serve`: the bench page on this machine, or in the workshop's network.
//!
//! Must not serve: whoever starts the program hands in what does, since the page stands beside
//! the command line and not under it.

use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::path::PathBuf;
use std::sync::Arc;

use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;

use super::args::Common;
use super::book_args::Serve;
use super::exit::Exit;
use super::failure::Failure;
use super::{book, input, out};
use crate::job::book::Access;
use crate::knowledge::Knowledge;
use crate::report::trouble::Trouble;

/// What is to be served.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// The job book.
    pub book: PathBuf,
    /// The figures.
    pub knowledge: Arc<Knowledge>,
    /// Port, 0 for any free one.
    pub port: u16,
    /// Address in the workshop's network; `None` for this machine only.
    pub lan: Option<IpAddr>,
}

/// What is served.
#[derive(Debug, Clone)]
pub struct Served {
    /// Where.
    pub address: SocketAddr,
    /// What lets another machine in.
    pub join_code: String,
}

/// Starts serving; goes on until the program ends.
pub type Server = fn(Wanted) -> io::Result<Served>;

/// Address that a datagram to anywhere would be sent from; nothing is sent.
fn own_address() -> Option<IpAddr> {
    /// Documentation range (RFC 5737): any address beyond this machine shows which way out.
    const AWAY: (Ipv4Addr, u16) = (Ipv4Addr::new(192, 0, 2, 1), 9);
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect(AWAY).ok()?;
    let ip = socket.local_addr().ok()?.ip();
    (!ip.is_loopback() && !ip.is_unspecified()).then_some(ip)
}

/// Reckoning has half of the processors, for the pages have to come as well, unless the environment
/// says how many.
fn leave_room() {
    if std::env::var_os("RAYON_NUM_THREADS").is_none() {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        let pool = rayon::ThreadPoolBuilder::new().num_threads((cores / 2).max(1));
        // A pool that is there already stays as it is.
        drop(pool.build_global());
    }
}

/// Runs the command.
///
/// # Errors
/// When the book cannot be opened or the port is taken.
pub fn run(args: &Serve, common: &Common, server: Server) -> Result<(), Failure> {
    let knowledge = input::knowledge(common)?;
    drop(book::open(&args.book, Access::Create)?);
    let lan = match (args.lan, args.address) {
        (false, _) => None,
        (true, Some(address)) => Some(address),
        (true, None) => Some(own_address().ok_or_else(|| {
            let what = "this machine has no address in a network";
            let advice = "connect it, or give its address with --address";
            Failure::new(Exit::Failed, Trouble::new(what, advice))
        })?),
    };
    let wanted = Wanted {
        book: book::place(&args.book)?,
        knowledge: Arc::new(knowledge),
        port: args.port,
        lan,
    };
    leave_room();
    let served = server(wanted).map_err(|error| {
        let what = format!("the page cannot be served at port {}: {error}", args.port);
        let advice = "give another port with --port, or 0 for any free one";
        Failure::new(Exit::Failed, Trouble::new(what, advice))
    })?;
    out::text(&says(&served, lan))?;
    loop {
        std::thread::park();
    }
}

/// Where to look; with a network also the code, and both as a picture for a phone.
fn says(served: &Served, lan: Option<IpAddr>) -> String {
    let port = served.address.port();
    let here = format!("Bench page: http://127.0.0.1:{port}/\n");
    let Some(ip) = lan else {
        return format!("{here}Only this machine can see it. Ctrl-C ends it.\n");
    };
    let there = SocketAddr::new(ip, port);
    let code = &served.join_code;
    let join = format!("http://{there}/join?code={code}");
    let picture = QrCode::new(&join).map_or(String::new(), |qr| {
        qr.render::<Dense1x2>().quiet_zone(true).build() + "\n"
    });
    format!(
        "{here}In the workshop: http://{there}/\nJoin code: {code}\n{picture}\
         Whoever has the code can read and write every job. Ctrl-C ends it.\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_network_is_told_address_and_code_this_machine_no_code() {
        let served = Served {
            address: "0.0.0.0:8017".parse().unwrap(),
            join_code: "ABCD2345".to_owned(),
        };
        let alone = says(&served, None);
        assert!(alone.contains("http://127.0.0.1:8017/") && !alone.contains("ABCD2345"));
        let lan = says(&served, Some(IpAddr::from([192, 168, 1, 5])));
        assert!(lan.contains("http://192.168.1.5:8017/\nJoin code: ABCD2345\n"));
        assert!(lan.lines().count() > 15, "the picture is missing: {lan}");
    }
}
