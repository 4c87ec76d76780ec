//! A real station under hostile requests: each gets a clear refusal, the memory of the process stays below a stated bound,
//! and others are served meanwhile.

use demo::Trouble;
use demo::station::Station;
use end_to_end::{folder, station};
use flate2::Compression;
use flate2::write::GzEncoder;
use serde_json::{Value, json};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::thread;
use std::time::Duration;
use survey::chain::{Hash, Head, Link, StreamId, blob_hash};
use survey::check::{PhotoOf, PhotoTaken};
use survey::entry::{Act, Entry, Scope};
use survey::ids::{BootId, DeviceId, EntryId, Epoch, PhotoId, SiteId};
use survey::time::{HybridTime, OffsetMinutes, SinceBoot, UnixMs};
use sync::framing::{Encoding, encode_batch};
use sync::wire::push::Purpose;
use sync::wire::{content, paths};

const MIB: usize = 1024 * 1024;

/// One hostile request after the other may raise the highest resident memory of the process by so much.
const ONE_BY_ONE_KIB: u64 = 16 * 1024;
/// Sixteen of the largest at once, and two hundred slow clients, by so much.
const AT_ONCE_KIB: u64 = 96 * 1024;

/// Clients that send a little and then nothing.
const SLOW: usize = 200;

const PHOTO: &[u8] = b"\xFF\xD8 no picture, but of the length that was declared";
const SALT: [u8; 16] = [9; 16];

struct Phone {
    host: String,
    stream: StreamId,
    photo: PhotoId,
}

#[test]
fn hostile_requests_are_refused_in_bounded_memory_and_hold_nobody_up() -> Result<(), Trouble> {
    let place = folder()?;
    let station = station(place.path())?;
    let phone = Phone::joined(&station)?;
    assert_eq!(phone.push(), 200);
    let before = peak_kib(&station);

    for (what, request, wanted) in phone.hostile() {
        let (status, said) = answer(&phone.host, &request);
        assert!(wanted.contains(&status), "{what}: {status} {said}");
        if (400..500).contains(&status) && said.contains("urn:") {
            let problem: Value = serde_json::from_str(said.trim())?;
            assert!(problem["detail"].as_str().is_some_and(|detail| detail.len() > 10), "{what}: {said}");
        }
        println!("{what}: {status}");
    }
    assert_eq!(phone.part(PHOTO).0, 200, "after all of it the right part is taken");
    raised(&station, before, ONE_BY_ONE_KIB, "hostile requests one by one");

    let zeros = packed(std::io::repeat(0).take(1024 * MIB as u64));
    let (full, bomb) = (phone.entries("", &vec![b' '; MIB]), phone.entries("Content-Encoding: gzip\r\n", &zeros));
    let statuses: Vec<u16> = thread::scope(|scope| {
        let ask = |n: usize| answer(&phone.host, if n.is_multiple_of(2) { &full } else { &bomb }).0;
        let asking: Vec<_> = (0..16).map(|n| scope.spawn(move || ask(n))).collect();
        asking.into_iter().map(|one| one.join().unwrap_or_default()).collect()
    });
    assert!(statuses.iter().all(|status| (400..500).contains(status)), "{statuses:?}");

    let slow: Vec<TcpStream> = (0..SLOW).map(|n| phone.slow(n)).collect::<Result<_, _>>()?;
    let health = format!("GET /v1/health HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", phone.host);
    for _ in 0..20 {
        assert_eq!(answer(&phone.host, health.as_bytes()).0, 200, "others are served");
    }
    assert_eq!(phone.push(), 200, "phones, too");
    raised(&station, before, AT_ONCE_KIB, "sixteen large requests at once and 200 slow clients");
    drop(slow);
    station.check()?;
    Ok(())
}

impl Phone {
    fn joined(station: &Station) -> Result<Self, Trouble> {
        let host = station.address.trim_start_matches("http://").to_owned();
        let stream = StreamId { device: DeviceId::from_octets([1; 16]), epoch: Epoch::from_octets([2; 16]) };
        let phone = Self { host, stream, photo: PhotoId::from_octets([4; 16]) };
        let enrol = json!({
            "code": station.invite("A phone", &[])?, "device": stream.device, "token_hash": Hash::plain(token().as_bytes()),
        });
        let request = phone.request("POST", paths::ENROL, content::JSON, "", enrol.to_string().as_bytes());
        let (status, said) = answer(&phone.host, &request);
        assert_eq!(status, 200, "{said}");
        Ok(phone)
    }

    /// What a stranger or a broken phone might send, and the answers that are right.
    fn hostile(&self) -> Vec<(&'static str, Vec<u8>, Vec<u16>)> {
        let head = |more: &str| format!("GET /v1/health HTTP/1.1\r\nHost: {}\r\n{more}", self.host).into_bytes();
        let headers = (0..10_000).map(|n| format!("x-{n}: {n}")).collect::<Vec<_>>().join("\r\n") + "\r\n";
        let long = format!("x-long: {}\r\n", "x".repeat(MIB));
        let path = format!("GET /{} HTTP/1.1\r\nHost: {}\r\n\r\n", "x".repeat(MIB), self.host);
        let deep = format!("{{\"app\":{}", "[".repeat(100_000)).into_bytes();
        let zeros = packed(std::io::repeat(0).take(256 * MIB as u64));
        let twice = packed(&zeros[..]);
        let members: Vec<u8> = packed(&b""[..]).repeat(10_000);
        let gzip = "Content-Encoding: gzip\r\n";
        let declared =
            self.raw("POST", &paths::entries(self.stream), content::ENTRIES, "Content-Length: 10737418240\r\n");
        let endless =
            self.raw("POST", &paths::entries(self.stream), content::ENTRIES, "Transfer-Encoding: chunked\r\n");
        let chunk = [format!("{:x}\r\n", 64 * 1024).into_bytes(), vec![b' '; 64 * 1024], b"\r\n".to_vec()].concat();
        let absurd = [&endless[..], b"fffffffffffffffff\r\n"].concat();
        let part = paths::photo_part(self.stream.device, self.photo, 0);
        let of = |octets: &[u8]| {
            format!("leafturn-sha256: {}\r\nleafturn-salt: {}\r\n", Hash::plain(octets), "09".repeat(16))
        };
        let (short, large) = (&PHOTO[1..], vec![0; 2 * MIB]);
        vec![
            ("10,000 headers", head(&format!("{headers}\r\n")), vec![431]),
            ("a header line of 1 MiB", head(&format!("{long}\r\n")), vec![431]),
            ("a path of 1 MiB", path.into_bytes(), vec![414, 431]),
            ("a hello 100,000 levels deep", self.request("POST", paths::HELLO, content::JSON, "", &deep), vec![400]),
            (
                "an enrolment 100,000 levels deep",
                self.request("POST", paths::ENROL, content::JSON, "", &deep),
                vec![400],
            ),
            ("256 MiB of zeros, packed", self.entries(gzip, &zeros), vec![413]),
            ("256 MiB of zeros, packed twice", self.entries(gzip, &twice), vec![400, 413]),
            ("10,000 empty gzip members", self.entries(gzip, &members), vec![400]),
            ("10 GiB declared", [declared, vec![b' '; 2 * MIB]].concat(), vec![413]),
            ("a body without end", [endless, chunk.repeat(40)].concat(), vec![413]),
            ("a chunk of 2^68 octets", absurd, vec![400, 0]),
            ("a photo part too short", self.request("PUT", &part, content::PART, &of(short), short), vec![400]),
            ("a photo part too large", self.request("PUT", &part, content::PART, &of(&large), &large), vec![413]),
        ]
    }

    fn part(&self, octets: &[u8]) -> (u16, String) {
        let path = paths::photo_part(self.stream.device, self.photo, 0);
        let more = format!("leafturn-sha256: {}\r\nleafturn-salt: {}\r\n", Hash::plain(octets), "09".repeat(16));
        answer(&self.host, &self.request("PUT", &path, content::PART, &more, octets))
    }

    fn push(&self) -> u16 {
        let link = self.photo_taken();
        let (body, _) = encode_batch(&[link], Purpose::Entries, Encoding::Identity).expect("a small entry fits");
        answer(&self.host, &self.entries("", &body)).0
    }

    fn photo_taken(&self) -> Link {
        let taken = PhotoTaken {
            photo: self.photo,
            length: PHOTO.len() as u64,
            hash: blob_hash(SALT, PHOTO),
            of: PhotoOf::Site,
        };
        let entry = Entry {
            id: EntryId::from_octets([5; 16]),
            hybrid: HybridTime(1_782_900_000_000, 0),
            wall: UnixMs(1_782_900_000_000),
            offset: OffsetMinutes(0),
            since_boot: SinceBoot { boot: BootId::from_octets([6; 16]), ms: 1 },
            scope: Scope::Site(SiteId::from_octets([3; 16])),
            replaces: Vec::new(),
            act: Act::PhotoTaken(taken),
        };
        Head::START.extend(self.stream, entry.encode().expect("a small entry fits"))
    }

    /// A client that sends the beginning of a head, or a head and the beginning of a body, and then nothing.
    fn slow(&self, n: usize) -> std::io::Result<TcpStream> {
        let head = self.raw("POST", &paths::entries(self.stream), content::ENTRIES, "Content-Length: 1000\r\n");
        let begun = if n.is_multiple_of(2) { &head[..head.len() / 2] } else { &head[..] };
        let mut client = TcpStream::connect(&self.host)?;
        client.write_all(begun)?;
        Ok(client)
    }

    fn entries(&self, more: &str, body: &[u8]) -> Vec<u8> {
        self.request("POST", &paths::entries(self.stream), content::ENTRIES, more, body)
    }

    fn request(&self, method: &str, path: &str, content_type: &str, more: &str, body: &[u8]) -> Vec<u8> {
        let more = format!("Content-Length: {}\r\n{more}", body.len());
        [self.raw(method, path, content_type, &more), body.to_vec()].concat()
    }

    /// The head of a request, as this phone sends it.
    fn raw(&self, method: &str, path: &str, content_type: &str, more: &str) -> Vec<u8> {
        let Self { host, .. } = self;
        let token = token();
        format!(
            "{method} {path} HTTP/1.1\r\nHost: {host}\r\nAuthorization: Bearer {token}\r\nContent-Type: {content_type}\r\nConnection: close\r\n{more}\r\n"
        )
        .into_bytes()
    }
}

fn token() -> String {
    "a1".repeat(32)
}

/// Status and body; 0 where the station only closed the connection.
fn answer(host: &str, request: &[u8]) -> (u16, String) {
    let mut client = TcpStream::connect(host).expect("the station listens");
    // A station that hangs fails the test instead of holding it for ever.
    client.set_read_timeout(Some(Duration::from_mins(1))).expect("sockets take time limits");
    client.set_write_timeout(Some(Duration::from_mins(1))).expect("sockets take time limits");
    // The station may have answered and closed before it was sent everything.
    let _ = client.write_all(request);
    let mut octets = Vec::new();
    let _ = client.read_to_end(&mut octets);
    let text = String::from_utf8_lossy(&octets);
    let status = text.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or_default();
    (status, text.split_once("\r\n\r\n").map(|(_, body)| body.to_owned()).unwrap_or_default())
}

/// The highest resident memory of the station so far, where the system tells (`VmHWM` in `/proc`, Linux).
fn peak_kib(station: &Station) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{}/status", station.process())).ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

fn raised(station: &Station, before: Option<u64>, most: u64, what: &str) {
    let Some((before, peak)) = before.zip(peak_kib(station)) else {
        println!("{what}: memory not measured, this system has no /proc");
        return;
    };
    println!("{what}: {} KiB above the {before} KiB before, bound {most} KiB", peak - before);
    assert!(peak - before <= most, "{what}: {} KiB above {before} KiB", peak - before);
}

fn packed(mut octets: impl Read) -> Vec<u8> {
    let mut packing = GzEncoder::new(Vec::new(), Compression::best());
    std::io::copy(&mut octets, &mut packing).and_then(|_| packing.finish()).expect("memory takes octets")
}
