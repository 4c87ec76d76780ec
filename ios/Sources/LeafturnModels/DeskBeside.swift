import Foundation
import LeafturnCore

/// What may be said beside the counts: of the plant, the weather, the visit; notes; animals off the plants.
extension Desk {
    // MARK: A plant

    /// The open plant, or one that the review names.
    func openDetails(_ check: String?) { askHere({ try $0.details(check: check) }) { $0.described($1) } }

    func described(_ record: DetailsScreen) {
        sheets.details = record
        begin(.details, about: record.check) { form in
            form.words = ["height": record.height.value, "stems": record.stems?.value ?? ""]
            form.fill("growth", record.growth)
            form.fill("condition", record.condition)
            form.fill("fate", record.fate)
            form.fill("flowers", record.flowers)
            for own in record.company { form.fill("company-\(own.who)", own.classes) }
        }
    }

    public func saveDetails() {
        guard let shown = sheets.details else { return }
        let form = form(.details)
        let company = shown.company.compactMap { own in
            form.one("company-\(own.who)").map { CompanySeen(who: own.who, class: $0) }
        }
        let typed = PlantTyped(
            height: form.text("height"), stems: form.text("stems"), growth: form.all("growth"), condition: form.one("condition"),
            fate: form.one("fate"), flowers: form.one("flowers"), company: company)
        ask({ try $0.describePlant(check: shown.check, typed: typed) }) { desk, record in
            desk.saved(.details)
            desk.sheets.details = record
        }
    }

    public func photographPlant() {
        guard let check = sheets.details?.check else { return }
        photograph(.plant(check: check)) { $0.openDetails(check) }
    }

    // MARK: The weather and the visit

    func openWeather() { askHere({ try $0.weather() }) { $0.offered($1) } }

    private func offered(_ record: WeatherScreen) {
        sheets.weather = record
        begin(.weather, about: record.said) { form in
            form.words = ["air": record.air.value]
            form.fill("wind", record.wind)
            form.fill("cloud", record.cloud)
            form.fill("rain", record.rain)
        }
    }

    public func saveWeather() {
        let form = form(.weather)
        let typed = WeatherTyped(air: form.text("air"), wind: form.one("wind"), cloud: form.one("cloud"), rain: form.one("rain"))
        ask({ try $0.noteWeather(typed: typed) }) { desk, record in
            desk.saved(.weather)
            desk.sheets.weather = record
        }
    }

    func openVisit() { askHere({ try $0.visit() }) { $0.offered($1) } }

    private func offered(_ record: VisitScreen) {
        sheets.visit = record
        begin(.visit, about: record.code) { form in
            form.words = ["minutes": record.minutes.value]
            form.fill("hosts-up", record.hostsUp)
        }
    }

    public func saveVisit() {
        let form = form(.visit)
        let typed = VisitTyped(hostsUp: form.one("hosts-up"), minutes: form.text("minutes"))
        ask({ try $0.describeVisit(typed: typed) }) { desk, record in
            desk.saved(.visit)
            desk.sheets.visit = record
        }
    }

    /// This visit and that of the other phone, whose code was typed, are one.
    public func linkVisit() {
        let code = form(.visit).text("beside")
        ask({ try $0.linkVisit(code: code) }) { desk, record in
            desk.change(.visit) { $0.words["beside"] = nil }
            desk.device.haptics.feel(.counted)
            desk.sheets.visit = record
        }
    }

    // MARK: Notes

    func openNotes() { askHere({ try $0.notes(site: nil) }) { $0.noted($1) } }

    private func noted(_ record: NotesScreen) {
        sheets.notes = record
        begin(.notes, about: record.beginsWith.isEmpty ? record.title : record.beginsWith) { $0.words["text"] = record.beginsWith }
    }

    public func addNote() {
        let text = form(.notes).text("text")
        ask({ try $0.addNote(site: nil, text: text) }) { desk, record in
            desk.end(.notes)
            desk.device.haptics.feel(.counted)
            desk.noted(record)
        }
    }

    public func erase(note: String) { ask({ try $0.eraseNote(site: nil, note: note) }) { $0.noted($1) } }

    // MARK: Animals off the plants

    func openOutside(_ site: String) { askHere({ try $0.outside(site: site) }) { $0.offered($1) } }

    private func offered(_ record: OutsideScreen) {
        sheets.outside = record
        begin(.outside, about: record.site) { form in
            form.fill("what", record.whats)
            form.fill("on", record.on)
        }
    }

    public func saveFind() {
        guard let site = sheets.outside?.site else { return }
        let form = form(.outside)
        let find = FindTyped(
            what: form.one("what") ?? "", state: nil, number: 1, on: form.one("on") ?? "", host: form.one("host"), place: nil)
        ask({ try $0.foundOutside(site: site, find: find) }) { desk, record in
            desk.end(.outside)
            desk.device.haptics.feel(.counted)
            desk.offered(record)
        }
    }

    public func photograph(find: String) {
        guard let site = sheets.outside?.site else { return }
        photograph(.find(site: site, find: find)) { $0.openOutside(site) }
    }

    // MARK: What they have in common

    /// It is kept: felt, and back to the screen before.
    private func saved(_ name: Form.Name) {
        end(name)
        if settings.buzz { device.haptics.feel(.counted) }
        if !path.isEmpty { path.removeLast() }
    }

    private func photograph(_ shows: PhotoShows, then: @escaping @MainActor (Desk) -> Void) {
        Task {
            guard let jpeg = await device.camera.take() else { return say(word("phone.no-camera")) }
            ask({ try $0.takePhotoOf(shows: shows, jpeg: jpeg) }) { desk, _ in
                if desk.settings.buzz { desk.device.haptics.feel(.counted) }
                then(desk)
            }
        }
    }
}
