import Foundation

/// What the bench came upon and did not expect.
struct Unexpected: Error, CustomStringConvertible {
    let description: String
    init(_ description: String) { self.description = description }
}

/// A bare row with one sync, by the SQLite of this machine: the least that any durable act costs.
final class Bare {
    private typealias Open = @convention(c) (UnsafePointer<CChar>, UnsafeMutablePointer<OpaquePointer?>) -> Int32
    private typealias Exec = @convention(c) (OpaquePointer?, UnsafePointer<CChar>, OpaquePointer?, OpaquePointer?, OpaquePointer?) -> Int32
    private typealias Prepare = @convention(c) (
        OpaquePointer?, UnsafePointer<CChar>, Int32, UnsafeMutablePointer<OpaquePointer?>, OpaquePointer?
    ) -> Int32
    private typealias One = @convention(c) (OpaquePointer?) -> Int32

    private var database: OpaquePointer?
    private var insert: OpaquePointer?
    private let step: One
    private let reset: One

    init(at file: URL) throws {
        guard let library = dlopen("libsqlite3.so.0", RTLD_NOW) else { throw Unexpected("this machine has no libsqlite3.so.0") }
        func named<Function>(_ name: String, _ type: Function.Type) throws -> Function {
            guard let found = dlsym(library, name) else { throw Unexpected("no \(name)") }
            return unsafeBitCast(found, to: type)
        }
        step = try named("sqlite3_step", One.self)
        reset = try named("sqlite3_reset", One.self)
        let open = try named("sqlite3_open", Open.self)
        let exec = try named("sqlite3_exec", Exec.self)
        let prepare = try named("sqlite3_prepare_v2", Prepare.self)
        guard open(file.path, &database) == 0 else { throw Unexpected("no database at \(file.path)") }
        let settings = "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; CREATE TABLE row (at INTEGER PRIMARY KEY, octets BLOB NOT NULL)"
        guard exec(database, settings, nil, nil, nil) == 0 else { throw Unexpected("no table") }
        // As large as an entry of a tap.
        let row = "INSERT INTO row (octets) VALUES (zeroblob(400))"
        guard prepare(database, row, -1, &insert, nil) == 0 else { throw Unexpected("no row") }
    }

    func row() throws {
        let done: Int32 = 101
        guard step(insert) == done, reset(insert) == 0 else { throw Unexpected("a row was not written") }
    }
}
