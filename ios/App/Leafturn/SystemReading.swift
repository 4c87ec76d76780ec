import AudioToolbox
import LeafturnModels
import SwiftUI
import UIKit
import UniformTypeIdentifiers
import VisionKit

/// Three short sounds of the system's own.
@MainActor struct SystemSounds: Sounding {
    func sound(_ feel: Feel) {
        switch feel {
        case .counted: AudioServicesPlaySystemSound(1104)
        case .takenBack: AudioServicesPlaySystemSound(1155)
        case .refused: AudioServicesPlaySystemSound(1053)
        }
    }
}

/// Reads the invitation that a station shows; the first code that is seen is taken.
@MainActor final class SystemScanner: NSObject, Scanning, DataScannerViewControllerDelegate, UIAdaptivePresentationControllerDelegate {
    private var waiting: CheckedContinuation<String?, Never>?
    private var shown: DataScannerViewController?

    func scan() async -> String? {
        guard waiting == nil, DataScannerViewController.isSupported, DataScannerViewController.isAvailable, let top = topController else {
            return nil
        }
        let scanner = DataScannerViewController(recognizedDataTypes: [.barcode(symbologies: [.qr])], isHighlightingEnabled: true)
        scanner.delegate = self
        scanner.presentationController?.delegate = self
        shown = scanner
        return await withCheckedContinuation { waiting in
            self.waiting = waiting
            top.present(scanner, animated: true) {
                do { try scanner.startScanning() } catch { self.answer(nil) }
            }
        }
    }

    func dataScanner(_ scanner: DataScannerViewController, didAdd items: [RecognizedItem], allItems: [RecognizedItem]) {
        for case .barcode(let code) in items {
            if let text = code.payloadStringValue { return answer(text) }
        }
    }

    func dataScanner(_ scanner: DataScannerViewController, becameUnavailableWithError error: DataScannerViewController.ScanningUnavailable)
    {
        answer(nil)
    }

    func presentationControllerDidDismiss(_ controller: UIPresentationController) { answer(nil) }

    private func answer(_ text: String?) {
        shown?.stopScanning()
        shown?.dismiss(animated: true)
        shown = nil
        waiting?.resume(returning: text)
        waiting = nil
    }
}

/// The system's own choice of a file: a copy is read, and nothing else is seen of the person's files.
@MainActor final class SystemFiles: NSObject, Choosing, UIDocumentPickerDelegate {
    private var waiting: CheckedContinuation<Data?, Never>?

    func choose() async -> Data? {
        guard waiting == nil, let top = topController else { return nil }
        let types = ["gpx", "geojson", "json"].compactMap { UTType(filenameExtension: $0) }
        let picker = UIDocumentPickerViewController(forOpeningContentTypes: types, asCopy: true)
        picker.delegate = self
        return await withCheckedContinuation { waiting in
            self.waiting = waiting
            top.present(picker, animated: true)
        }
    }

    func documentPicker(_ controller: UIDocumentPickerViewController, didPickDocumentsAt urls: [URL]) {
        answer(urls.first.flatMap { try? Data(contentsOf: $0) })
    }

    func documentPickerWasCancelled(_ controller: UIDocumentPickerViewController) { answer(nil) }

    private func answer(_ content: Data?) {
        waiting?.resume(returning: content)
        waiting = nil
    }
}
