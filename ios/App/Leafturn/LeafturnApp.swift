import LeafturnCore
import LeafturnModels
import LeafturnViews
import SwiftUI
import UIKit

/// The entry point: one model for as long as the process lives, over what only the phone can do.
@main
struct LeafturnApp: App {
    @UIApplicationDelegateAdaptor(Delegate.self) private var delegate
    @Environment(\.scenePhase) private var phase

    var body: some Scene {
        WindowGroup {
            RootView(desk: delegate.desk)
                .onAppear { delegate.desk.begin() }
        }
        .onChange(of: phase) { _, now in
            if now == .active { delegate.desk.send(byPerson: false) }
        }
    }
}

/// What SwiftUI has no word for: transfers that ended while the app was gone, and the first unlock after a restart.
final class Delegate: NSObject, UIApplicationDelegate {
    let transfers: BackgroundTransfers
    let desk: Desk

    override init() {
        let folders = Folders.ofThisPhone
        transfers = BackgroundTransfers(folder: folders.journal)
        let device = Device(
            haptics: SystemHaptics(), speaker: SystemSpeaker(), whereabouts: SystemWhereabouts(), sharing: ShareSheet(),
            camera: SystemCamera(), network: SystemNetwork(), leftovers: transfers, sounds: SystemSounds(), scanner: SystemScanner(),
            files: SystemFiles())
        desk = Desk(folders: folders, kept: SystemKeeping(), vault: KeychainVault(), device: device)
        super.init()
        transfers.trust = Trust(core: desk.core)
        transfers.ended = { [weak desk] id, outcome in desk?.transferEnded(id, outcome) }
    }

    func application(_ application: UIApplication, didFinishLaunchingWithOptions options: [UIApplication.LaunchOptionsKey: Any]? = nil)
        -> Bool
    {
        transfers.resume()
        // Before the first unlock the core answers "try later"; this is when to do so.
        NotificationCenter.default.addObserver(
            forName: UIApplication.protectedDataDidBecomeAvailableNotification, object: nil, queue: .main
        ) { [desk] _ in
            MainActor.assumeIsolated { desk.begin() }
        }
        return true
    }

    func application(
        _ application: UIApplication, handleEventsForBackgroundURLSession identifier: String, completionHandler: @escaping () -> Void
    ) {
        transfers.allDone = completionHandler
    }
}

extension Folders {
    /// In the app's own container, in no backup, readable after the first unlock.
    static var ofThisPhone: Folders {
        let base = URL.applicationSupportDirectory.appending(path: "leafturn", directoryHint: .isDirectory)
        var folders = ["journal", "marker"].map { base.appending(path: $0, directoryHint: .isDirectory) }
        for at in folders.indices {
            try? FileManager.default.createDirectory(
                at: folders[at], withIntermediateDirectories: true,
                attributes: [.protectionKey: FileProtectionType.completeUntilFirstUserAuthentication])
            var values = URLResourceValues()
            values.isExcludedFromBackup = true
            try? folders[at].setResourceValues(values)
        }
        return Folders(journal: folders[0], marker: folders[1], exports: FileManager.default.temporaryDirectory)
    }
}
