import AVFoundation
import CoreLocation
import LeafturnModels
import Network
import Security
import SwiftUI
import UIKit

/// Short, twice, long: three that cannot be mistaken.
@MainActor final class SystemHaptics: Feeling {
    private let impact = UIImpactFeedbackGenerator(style: .medium)
    private let notification = UINotificationFeedbackGenerator()

    func feel(_ feel: Feel) {
        switch feel {
        case .counted: impact.impactOccurred()
        case .takenBack: notification.notificationOccurred(.warning)
        case .refused: notification.notificationOccurred(.error)
        }
    }
}

/// Of a burst only the last is spoken, 0.3 s after it.
@MainActor final class SystemSpeaker: Speaking {
    private let voice = AVSpeechSynthesizer()
    private var pending: Task<Void, Never>?

    func sayAloud(_ text: String) {
        voice.stopSpeaking(at: .immediate)
        voice.speak(AVSpeechUtterance(string: text))
    }

    func say(_ text: String) {
        pending?.cancel()
        pending = Task {
            try? await Task.sleep(for: .milliseconds(300))
            guard !Task.isCancelled else { return }
            AccessibilityNotification.Announcement(text).post()
        }
    }
}

/// The token in the key chain: on this phone alone, after the first unlock.
struct KeychainVault: Vault {
    private var about: [String: Any] {
        [kSecClass as String: kSecClassGenericPassword, kSecAttrService as String: "leafturn", kSecAttrAccount as String: "station-token"]
    }

    func token() -> String? {
        var found: CFTypeRef?
        let query = about.merging([kSecReturnData as String: true]) { $1 }
        guard SecItemCopyMatching(query as CFDictionary, &found) == errSecSuccess, let data = found as? Data else { return nil }
        return String(data: data, encoding: .utf8)
    }

    func keep(token: String?) {
        SecItemDelete(about as CFDictionary)
        guard let token else { return }
        let item = about.merging([
            kSecValueData as String: Data(token.utf8), kSecAttrAccessible as String: kSecAttrAccessibleAfterFirstUnlockThisDeviceOnly,
        ]) { $1 }
        SecItemAdd(item as CFDictionary, nil)
    }
}

/// One fix while the app is in use; a refusal leaves everything else working.
@MainActor final class SystemWhereabouts: NSObject, Whereabouts, CLLocationManagerDelegate {
    private let manager = CLLocationManager()
    private var waiting: CheckedContinuation<DeviceFix?, Never>?

    func ask() async -> DeviceFix? {
        guard waiting == nil else { return nil }
        manager.delegate = self
        manager.desiredAccuracy = kCLLocationAccuracyBest
        return await withCheckedContinuation { waiting in
            self.waiting = waiting
            switch manager.authorizationStatus {
            case .notDetermined: manager.requestWhenInUseAuthorization()
            case .denied, .restricted: answer(nil)
            default: manager.requestLocation()
            }
        }
    }

    private func answer(_ fix: DeviceFix?) {
        waiting?.resume(returning: fix)
        waiting = nil
    }

    nonisolated func locationManagerDidChangeAuthorization(_ manager: CLLocationManager) {
        MainActor.assumeIsolated {
            guard waiting != nil else { return }
            switch self.manager.authorizationStatus {
            case .notDetermined: break
            case .denied, .restricted: answer(nil)
            default: self.manager.requestLocation()
            }
        }
    }

    nonisolated func locationManager(_ manager: CLLocationManager, didUpdateLocations locations: [CLLocation]) {
        let last = locations.last.map {
            DeviceFix(latitude: $0.coordinate.latitude, longitude: $0.coordinate.longitude, accuracy: $0.horizontalAccuracy)
        }
        MainActor.assumeIsolated { answer(last) }
    }

    nonisolated func locationManager(_ manager: CLLocationManager, didFailWithError error: any Error) {
        MainActor.assumeIsolated { answer(nil) }
    }
}

/// The window on top, to show what the system brings.
@MainActor var topController: UIViewController? {
    let scene = UIApplication.shared.connectedScenes.compactMap { $0 as? UIWindowScene }.first { $0.activationState == .foregroundActive }
    return scene?.keyWindow?.rootViewController
}

@MainActor struct ShareSheet: Sharing {
    func share(_ file: URL) {
        let sheet = UIActivityViewController(activityItems: [file], applicationActivities: nil)
        sheet.popoverPresentationController?.sourceView = topController?.view
        topController?.present(sheet, animated: true)
    }
}

/// The system's camera; the picture is turned upright and made at most 2,560 pixels a side.
@MainActor final class SystemCamera: NSObject, Camera, UIImagePickerControllerDelegate, UINavigationControllerDelegate {
    private static let longest: CGFloat = 2560
    private var waiting: CheckedContinuation<Data?, Never>?

    func take() async -> Data? {
        guard waiting == nil, UIImagePickerController.isSourceTypeAvailable(.camera), let top = topController else { return nil }
        let picker = UIImagePickerController()
        picker.sourceType = .camera
        picker.delegate = self
        return await withCheckedContinuation { waiting in
            self.waiting = waiting
            top.present(picker, animated: true)
        }
    }

    func imagePickerController(
        _ picker: UIImagePickerController, didFinishPickingMediaWithInfo info: [UIImagePickerController.InfoKey: Any]
    ) {
        picker.dismiss(animated: true)
        answer((info[.originalImage] as? UIImage).flatMap(upright))
    }

    func imagePickerControllerDidCancel(_ picker: UIImagePickerController) {
        picker.dismiss(animated: true)
        answer(nil)
    }

    private func answer(_ jpeg: Data?) {
        waiting?.resume(returning: jpeg)
        waiting = nil
    }

    private func upright(_ image: UIImage) -> Data? {
        let pixels = CGSize(width: image.size.width * image.scale, height: image.size.height * image.scale)
        let share = min(1, Self.longest / max(pixels.width, pixels.height))
        let size = CGSize(width: pixels.width * share, height: pixels.height * share)
        let format = UIGraphicsImageRendererFormat()
        format.scale = 1
        return UIGraphicsImageRenderer(size: size, format: format).jpegData(withCompressionQuality: 0.85) { _ in
            image.draw(in: CGRect(origin: .zero, size: size))
        }
    }
}

/// Whether the path in use costs by volume. Until the system says so, it does.
@MainActor final class SystemNetwork: NetworkCost {
    private let monitor = NWPathMonitor()
    private(set) var metered = true

    init() {
        monitor.pathUpdateHandler = { [weak self] path in
            let costs = path.isExpensive || path.isConstrained
            Task { @MainActor in self?.metered = costs }
        }
        monitor.start(queue: .main)
    }
}
