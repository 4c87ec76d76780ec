package leafturn.phone

import java.io.File
import leafturn.core.Beginning
import leafturn.core.Beside
import leafturn.core.Leafturn
import leafturn.core.Opening
import leafturn.core.ShareOfPlants
import leafturn.core.Wanted

/**
 * An invented visit of two phones, each of which looked at the same two plants without seeing what the other counted, and is at the third.
 * The second phone's file goes to a real station, from which the first learns of it.
 */
object Twice {
    private val scratch get() = File(System.getProperty("leafturn.scratch")).also { it.mkdirs() }

    /** The first phone's journal, made once: to be laid where an app keeps its own. */
    private val made: File by lazy { File(scratch, "twice-${System.nanoTime()}").also(::make) }

    /** The app of this walk, which was left, begun again on a copy of the first phone's journal. */
    fun visit(left: Walk): Walk {
        val home = left.app.journal.parentFile!!
        home.deleteRecursively()
        val first = made
        home.deleteRecursively()
        first.copyRecursively(home)
        return Walk().begin().also { it.app.core.wait { core -> core.counting() } }
    }

    private fun make(into: File) = Station.ofTest("twice").use { station ->
        val walk = station.joinedBy(Walk().begin())
        val first = (walk.app.core.wait { count(it, listOf(listOf("egg", "egg", "egg", "larva2"), listOf("egg"))) } as Outcome.Done).value
        val file = File(scratch, "twice-second.gz")
        second(first.site, first.visit, file)
        station.takeIn(file)
        walk.home.go(Place.Sending)
        walk.settle()
        walk.app.send.start({ it.syncWanted(Wanted(byPerson = true, metered = false)) }, {})
        walk.until("the second phone's plants came") { (walk.app.core.wait { it.matching() } as Outcome.Done).value.pairs.size == 3 }
        walk.leave()
        walk.app.journal.parentFile!!.copyRecursively(into)
    }

    private class Counted(val site: String, val visit: String)

    private fun second(site: String, visit: String, file: File) {
        val folder = File(scratch, "twice-second-${System.nanoTime()}")
        Leafturn.open(Opening(File(folder, "journal").path, File(folder, "marker").path, "en", offsetMinutes(), Beside.OWN)).use { core ->
            core.adoptSite(site, "Invented Meadow by the Long Ditch")
            val start = core.addObserver(site, "Second Invented Name")
            core.beginVisit(Beginning(site, start.protocols.first().protocol, start.observers.map { it.observer }, ShareOfPlants.ALL, visit))
            count(core, listOf(listOf("egg", "egg", "larva2"), listOf("egg", "egg")))
            core.exportTo(file.path)
        }
    }

    private fun count(core: Leafturn, plants: List<List<String>>): Counted {
        core.openPlant("Asclepias syriaca")
        plants.forEach { plant ->
            plant.forEach(core::count)
            core.nextPlant()
        }
        return core.counting().let { Counted(it.site, it.visit) }
    }
}
