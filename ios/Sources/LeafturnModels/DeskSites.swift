import LeafturnCore

/// What is asked before a visit.
extension Desk {
    func offered(_ record: StartScreen) {
        start = record
        guard chosen.site != record.site else { return }
        chosen.site = record.site
        chosen.proto = record.protocols.first?.`protocol` ?? ""
        chosen.observers = Set(record.observers.filter(\.chosen).map(\.observer))
        chosen.share = .all
    }

    public func toggle(observer: String) {
        if chosen.observers.remove(observer) == nil { chosen.observers.insert(observer) }
    }

    public func addObserver() {
        let name = typed[.observer] ?? ""
        let site = chosen.site
        let known = Set(start?.observers.map(\.observer) ?? [])
        ask({ try $0.addObserver(site: site, name: name) }) { desk, record in
            desk.typed[.observer] = nil
            desk.start = record
            desk.chosen.observers.formUnion(record.observers.map(\.observer).filter { !known.contains($0) })
        }
    }

    public func choose(protocol proto: String) { chosen.proto = proto }

    public func choose(_ share: ShareOfPlants) { chosen.share = share }

    public func beginVisit() {
        let beginning = Beginning(
            site: chosen.site, protocol: chosen.proto, observers: chosen.observers.sorted(), share: chosen.share,
            beside: typed[.beside] ?? "")
        ask({ try $0.beginVisit(beginning: beginning) }) { desk, record in
            desk.typed[.beside] = nil
            desk.chosen.site = ""
            desk.counting = record
            desk.path = [.counting]
        }
    }
}
