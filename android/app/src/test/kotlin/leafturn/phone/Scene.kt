package leafturn.phone

import leafturn.core.Beginning
import leafturn.core.Leafturn
import leafturn.core.NewSite
import leafturn.core.Precision
import leafturn.core.ShareOfPlants

/** An invented visit, put into the core directly: for tests that look at screens and not at how one gets there. */
object Scene {
    fun site(core: Leafturn, name: String = "Invented Meadow by the Long Ditch"): String {
        val typed = NewSite(name, "45.0012", "-92.9987", null, Precision.HUNDREDTH)
        return core.addSite(typed).sites.first { it.name == name }.site
    }

    fun visit(core: Leafturn, site: String, share: ShareOfPlants = ShareOfPlants.ALL) {
        val start = core.addObserver(site, "Invented Name")
        val protocol = start.protocols.first().protocol
        core.beginVisit(Beginning(site, protocol, start.observers.map { it.observer }, share, ""))
    }

    /** Two plants done, and a third with something of everything on it. */
    fun counting(core: Leafturn) {
        visit(core, site(core))
        core.openPlant("Asclepias syriaca")
        core.emptyPlant()
        core.count("egg")
        core.nextPlant()
        repeat(12) { core.count("egg") }
        repeat(3) { core.count("larva2") }
        core.count("larva5")
        core.count("egg+none")
        core.countInState("larva3", "limp-or-blackened")
    }
}
