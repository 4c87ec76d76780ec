package leafturn.phone

import leafturn.core.Beginning
import leafturn.core.Choice
import leafturn.core.Leafturn
import leafturn.core.NewSite
import leafturn.core.Precision
import leafturn.core.SettingsChosen
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

    /** Counts eggs until a photo is asked for, of about one animal in 15, and takes all but the last of them back. */
    fun untilPhoto(core: Leafturn) {
        var left = 2000
        while (core.count("egg").photoAsked == null) {
            left -= 1
            check(left > 0) { "no photo was asked for" }
            core.uncount("egg")
        }
    }

    /** The settings as they are, for changing one of them. */
    fun settings(core: Leafturn): SettingsChosen {
        val now = core.settings()
        fun one(choices: List<Choice>) = choices.first { it.chosen }.name
        return SettingsChosen(
            one(now.languages), one(now.hands), one(now.themes), one(now.units), now.switches.filter { it.chosen }.map { it.name },
        )
    }

    /** Switches one of the settings on, as the page of settings does. */
    fun switchOn(walk: Walk, switch: String) {
        walk.app.core.wait { core -> core.changeSettings(settings(core).let { it.copy(on = it.on + switch) }) }
        walk.home.restyle()
        walk.settle()
    }

    /** Everything by which the key can be asked to look. */
    fun means(core: Leafturn) = core.keyStart().means.map { it.name }

    /** Answers the key's question with its first answer, three times. */
    fun answerKey(core: Leafturn) = repeat(3) {
        val asked = core.key().question ?: return
        core.answerKey(asked.character, listOf(asked.states.firstOrNull()?.answer ?: asked.number!!.least.toString()))
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
