//! A SQLite file layer that notes every change and leaves the work to the system's layer.
//!
//! Noted are the database, its log (`-wal`) and rollback journals: made, written, cut, synced, removed. The shared
//! memory (`-shm`) passes through unnoted: SQLite builds it again from the log when the first connection opens, and
//! empties what it finds. Memory maps are not offered, so that every write is seen.
//!
//! SQLite's layer for Unix syncs the folder by itself, when a journal or log that was made is synced for the first time
//! and when a removal asks for it. It opens the folder by a replaceable system call, and that is where the sync of the
//! folder is noted: what SQLite does is recorded, not what one believes it does. The database's own name has no sync
//! but that of the journal beside it.

#![expect(unsafe_code, reason = "a file layer of SQLite is a table of C functions")]

use crate::log::{Log, Node};
use libsqlite3_sys::{
    SQLITE_FCNTL_SIZE_HINT, SQLITE_NOTFOUND, SQLITE_OK, SQLITE_OPEN_MAIN_DB, SQLITE_OPEN_MAIN_JOURNAL,
    SQLITE_OPEN_SUPER_JOURNAL, SQLITE_OPEN_WAL, sqlite3_file, sqlite3_int64, sqlite3_io_methods, sqlite3_syscall_ptr,
    sqlite3_vfs, sqlite3_vfs_find, sqlite3_vfs_register,
};
use std::cell::Cell;
use std::ffi::{CStr, CString, c_char, c_int, c_void};
use std::os::unix::ffi::OsStrExt;
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, OnceLock};

/// Registers a file layer that notes into this log, and gives its name. It stays registered as long as the process.
///
/// # Panics
/// Where SQLite has no layer of its own or refuses the registration: there is nothing to rehearse then.
pub fn register(log: &Arc<Log>) -> String {
    static REGISTERED: AtomicU64 = AtomicU64::new(0);
    let system = system();
    let name = format!("recorder-{}", REGISTERED.fetch_add(1, Ordering::Relaxed));
    let c_name = CString::new(name.clone()).expect("the name has no zero in it");
    // SAFETY: `system` is SQLite's own layer, which lives as long as the process.
    let own_size = unsafe { (*system).szOsFile };
    let shim = Box::new(sqlite3_vfs {
        iVersion: 2,
        szOsFile: own_size + c_int::try_from(size_of::<ShimFile>()).expect("a small struct"),
        mxPathname: 1024,
        pNext: std::ptr::null_mut(),
        zName: c_name.into_raw(),
        pAppData: Arc::into_raw(Arc::clone(log)).cast_mut().cast(),
        xOpen: Some(open),
        xDelete: Some(delete),
        xAccess: Some(access),
        xFullPathname: Some(full_pathname),
        xDlOpen: None,
        xDlError: None,
        xDlSym: None,
        xDlClose: None,
        xRandomness: Some(randomness),
        xSleep: Some(sleep),
        xCurrentTime: Some(current_time),
        xGetLastError: Some(last_error),
        xCurrentTimeInt64: Some(current_time_int64),
        xSetSystemCall: None,
        xGetSystemCall: None,
        xNextSystemCall: None,
    });
    // SAFETY: the struct, its name and the log are leaked on purpose, so they outlive every connection.
    let registered = unsafe { sqlite3_vfs_register(Box::into_raw(shim), 0) };
    assert_eq!(registered, SQLITE_OK, "SQLite registers the layer");
    name
}

/// Stands before the system layer's own file in memory that SQLite gives.
#[repr(C)]
struct ShimFile {
    base: sqlite3_file,
    log: *const Log,
    node: Option<Node>,
}

thread_local! {
    /// The log of the call that is under way on this thread, for the folder that the system's layer opens within it.
    static UNDER_WAY: Cell<*const Log> = const { Cell::new(std::ptr::null()) };
}

type OpenFolder = unsafe extern "C" fn(*const c_char, *mut c_int) -> c_int;
static OPEN_FOLDER: OnceLock<OpenFolder> = OnceLock::new();

static METHODS: sqlite3_io_methods = sqlite3_io_methods {
    iVersion: 2,
    xClose: Some(close),
    xRead: Some(read),
    xWrite: Some(write),
    xTruncate: Some(truncate),
    xSync: Some(sync),
    xFileSize: Some(file_size),
    xLock: Some(lock),
    xUnlock: Some(unlock),
    xCheckReservedLock: Some(check_reserved_lock),
    xFileControl: Some(file_control),
    xSectorSize: Some(sector_size),
    xDeviceCharacteristics: Some(device_characteristics),
    xShmMap: Some(shm_map),
    xShmLock: Some(shm_lock),
    xShmBarrier: Some(shm_barrier),
    xShmUnmap: Some(shm_unmap),
    xFetch: None,
    xUnfetch: None,
};

/// SQLite's own layer, with our ear at the call by which it opens a folder to sync it.
fn system() -> *mut sqlite3_vfs {
    // SAFETY: asks for the default layer, which SQLite initialises and never frees.
    let system = unsafe { sqlite3_vfs_find(std::ptr::null()) };
    assert!(!system.is_null(), "SQLite has a file layer");
    OPEN_FOLDER.get_or_init(|| {
        let name = c"openDirectory".as_ptr();
        // SAFETY: the layer for Unix has version 3 and with it these calls; the pointer that is read has the type which
        // os_unix.c gives to `openDirectory`, and ours has the same.
        unsafe {
            let get = (*system).xGetSystemCall.expect("the layer for Unix");
            let set = (*system).xSetSystemCall.expect("the layer for Unix");
            let before = get(system, name).expect("the layer for Unix opens folders by this call");
            let ours = std::mem::transmute::<OpenFolder, unsafe extern "C" fn()>(open_folder);
            assert_eq!(set(system, name, sqlite3_syscall_ptr::Some(ours)), SQLITE_OK, "the call is replaced");
            std::mem::transmute::<unsafe extern "C" fn(), OpenFolder>(before)
        }
    });
    system
}

unsafe extern "C" fn open_folder(file: *const c_char, fd: *mut c_int) -> c_int {
    let log = UNDER_WAY.get();
    if !log.is_null() {
        // SAFETY: set by `noting` from a log that is never freed; SQLite passes the path of a file in the folder.
        let (log, file) = unsafe { (&*log, path(file)) };
        if let Some(folder) = file.parent() {
            log.sync_folder(folder);
        }
    }
    let before = OPEN_FOLDER.get().expect("set before this function was");
    // SAFETY: the arguments are passed on as they came.
    unsafe { before(file, fd) }
}

/// Runs a call of the system's layer with our ear open.
fn noting(log: *const Log, call: impl FnOnce() -> c_int) -> c_int {
    UNDER_WAY.set(log);
    let code = call();
    UNDER_WAY.set(std::ptr::null());
    code
}

unsafe fn path<'a>(name: *const c_char) -> &'a Path {
    // SAFETY: the caller has a path from SQLite, which ends with a zero and lives through the call.
    Path::new(std::ffi::OsStr::from_bytes(unsafe { CStr::from_ptr(name) }.to_bytes()))
}

unsafe fn log_of<'a>(vfs: *mut sqlite3_vfs) -> &'a Log {
    // SAFETY: `register` put a leaked log there.
    unsafe { &*(*vfs).pAppData.cast::<Log>() }
}

/// The system layer's file behind ours.
unsafe fn inner(file: *mut sqlite3_file) -> *mut sqlite3_file {
    // SAFETY: SQLite allocates `szOsFile` octets, ours first; ours is a multiple of the pointer's alignment.
    unsafe { file.cast::<ShimFile>().add(1).cast() }
}

/// Calls a method of the system layer's file.
macro_rules! pass_on {
    ($file:ident, $method:ident $(, $argument:expr)*) => {{
        let inner = inner($file);
        ((*(*inner).pMethods).$method.expect("the layer for Unix has it"))(inner $(, $argument)*)
    }};
}

// SAFETY, for all functions below: SQLite calls them with a layer or a file that `register` or `open` set up, under the
// contract of sqlite3_vfs and sqlite3_io_methods; what is not noted is passed on with the arguments as they came.

unsafe extern "C" fn open(
    vfs: *mut sqlite3_vfs,
    name: *const c_char,
    file: *mut sqlite3_file,
    flags: c_int,
    out: *mut c_int,
) -> c_int {
    unsafe {
        let (system, shim) = (system(), file.cast::<ShimFile>());
        (*inner(file)).pMethods = std::ptr::null();
        (*shim).base.pMethods = std::ptr::null();
        let code = (*system).xOpen.expect("every layer opens")(system, name, inner(file), flags, out);
        if code == SQLITE_OK {
            let noted = SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_MAIN_JOURNAL | SQLITE_OPEN_SUPER_JOURNAL | SQLITE_OPEN_WAL;
            let log = log_of(vfs);
            (*shim).log = log;
            (*shim).node = if flags & noted != 0 && !name.is_null() { log.file(path(name)) } else { None };
            (*shim).base.pMethods = &raw const METHODS;
        }
        code
    }
}

unsafe extern "C" fn delete(vfs: *mut sqlite3_vfs, name: *const c_char, sync_folder: c_int) -> c_int {
    unsafe {
        let log = log_of(vfs);
        log.remove(path(name));
        let system = system();
        noting(log, || (*system).xDelete.expect("every layer deletes")(system, name, sync_folder))
    }
}

unsafe extern "C" fn access(_: *mut sqlite3_vfs, name: *const c_char, flags: c_int, out: *mut c_int) -> c_int {
    unsafe {
        let system = system();
        (*system).xAccess.expect("every layer has it")(system, name, flags, out)
    }
}

unsafe extern "C" fn full_pathname(_: *mut sqlite3_vfs, name: *const c_char, size: c_int, out: *mut c_char) -> c_int {
    unsafe {
        let system = system();
        (*system).xFullPathname.expect("every layer has it")(system, name, size, out)
    }
}

unsafe extern "C" fn randomness(_: *mut sqlite3_vfs, size: c_int, out: *mut c_char) -> c_int {
    unsafe {
        let system = system();
        (*system).xRandomness.expect("every layer has it")(system, size, out)
    }
}

unsafe extern "C" fn sleep(_: *mut sqlite3_vfs, microseconds: c_int) -> c_int {
    unsafe {
        let system = system();
        (*system).xSleep.expect("every layer has it")(system, microseconds)
    }
}

unsafe extern "C" fn current_time(_: *mut sqlite3_vfs, out: *mut f64) -> c_int {
    unsafe {
        let system = system();
        (*system).xCurrentTime.expect("every layer has it")(system, out)
    }
}

unsafe extern "C" fn current_time_int64(_: *mut sqlite3_vfs, out: *mut sqlite3_int64) -> c_int {
    unsafe {
        let system = system();
        (*system).xCurrentTimeInt64.expect("the layer for Unix has it")(system, out)
    }
}

unsafe extern "C" fn last_error(_: *mut sqlite3_vfs, size: c_int, out: *mut c_char) -> c_int {
    unsafe {
        let system = system();
        (*system).xGetLastError.map_or(SQLITE_OK, |call| call(system, size, out))
    }
}

unsafe extern "C" fn close(file: *mut sqlite3_file) -> c_int {
    unsafe { pass_on!(file, xClose) }
}

unsafe extern "C" fn read(file: *mut sqlite3_file, out: *mut c_void, amount: c_int, offset: sqlite3_int64) -> c_int {
    unsafe { pass_on!(file, xRead, out, amount, offset) }
}

unsafe extern "C" fn write(
    file: *mut sqlite3_file,
    octets: *const c_void,
    amount: c_int,
    offset: sqlite3_int64,
) -> c_int {
    unsafe {
        let shim = file.cast::<ShimFile>();
        if let Some(node) = (*shim).node {
            let (amount, offset) = (usize::try_from(amount).unwrap_or(0), usize::try_from(offset).unwrap_or(0));
            (*(*shim).log).write(node, offset, std::slice::from_raw_parts(octets.cast(), amount));
        }
        pass_on!(file, xWrite, octets, amount, offset)
    }
}

unsafe extern "C" fn truncate(file: *mut sqlite3_file, size: sqlite3_int64) -> c_int {
    unsafe {
        let shim = file.cast::<ShimFile>();
        if let Some(node) = (*shim).node {
            (*(*shim).log).size(node, usize::try_from(size).unwrap_or(0));
        }
        pass_on!(file, xTruncate, size)
    }
}

unsafe extern "C" fn sync(file: *mut sqlite3_file, flags: c_int) -> c_int {
    unsafe {
        let shim = file.cast::<ShimFile>();
        if let Some(node) = (*shim).node {
            (*(*shim).log).sync(node);
        }
        noting((*shim).log, || pass_on!(file, xSync, flags))
    }
}

unsafe extern "C" fn file_size(file: *mut sqlite3_file, out: *mut sqlite3_int64) -> c_int {
    unsafe { pass_on!(file, xFileSize, out) }
}

unsafe extern "C" fn lock(file: *mut sqlite3_file, level: c_int) -> c_int {
    unsafe { pass_on!(file, xLock, level) }
}

unsafe extern "C" fn unlock(file: *mut sqlite3_file, level: c_int) -> c_int {
    unsafe { pass_on!(file, xUnlock, level) }
}

unsafe extern "C" fn check_reserved_lock(file: *mut sqlite3_file, out: *mut c_int) -> c_int {
    unsafe { pass_on!(file, xCheckReservedLock, out) }
}

unsafe extern "C" fn file_control(file: *mut sqlite3_file, what: c_int, argument: *mut c_void) -> c_int {
    // A hint of the size to come lets the layer stretch the file behind our back; it may be passed over.
    if what == SQLITE_FCNTL_SIZE_HINT {
        return SQLITE_NOTFOUND;
    }
    unsafe { pass_on!(file, xFileControl, what, argument) }
}

unsafe extern "C" fn sector_size(file: *mut sqlite3_file) -> c_int {
    unsafe { pass_on!(file, xSectorSize) }
}

unsafe extern "C" fn device_characteristics(file: *mut sqlite3_file) -> c_int {
    unsafe { pass_on!(file, xDeviceCharacteristics) }
}

unsafe extern "C" fn shm_map(
    file: *mut sqlite3_file,
    page: c_int,
    size: c_int,
    extend: c_int,
    out: *mut *mut c_void,
) -> c_int {
    unsafe { pass_on!(file, xShmMap, page, size, extend, out.cast()) }
}

unsafe extern "C" fn shm_lock(file: *mut sqlite3_file, offset: c_int, n: c_int, flags: c_int) -> c_int {
    unsafe { pass_on!(file, xShmLock, offset, n, flags) }
}

unsafe extern "C" fn shm_barrier(file: *mut sqlite3_file) {
    unsafe { pass_on!(file, xShmBarrier) }
}

unsafe extern "C" fn shm_unmap(file: *mut sqlite3_file, delete: c_int) -> c_int {
    unsafe { pass_on!(file, xShmUnmap, delete) }
}
