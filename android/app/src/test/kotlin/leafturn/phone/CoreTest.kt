package leafturn.phone

import java.io.File
import java.nio.file.Files
import leafturn.core.Beside
import leafturn.core.Failure
import leafturn.core.Leafturn
import leafturn.core.Opening
import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Test

/** The library as it is, without the shell. */
class CoreTest {
    private val folder: File = Files.createTempDirectory("leafturn").toFile()

    private fun open() = Leafturn.open(
        Opening(File(folder, "journal").path, File(folder, "marker").path, "en", (-300).toShort(), Beside.OWN),
    )

    /** The library is built as phones get it, with unwinding left in: the panic ends at the boundary. */
    @Test
    fun aPanicInsideIsCaughtAndTheJournalGoesOn() {
        val core = open()
        Scene.counting(core)
        val before = Elsewhere.line(core.counting())
        val failure = assertThrows(Failure.StartedAgain::class.java) { core.trip() }
        assertTrue(failure.text, "started again" in failure.text)
        assertEquals(before, Elsewhere.line(core.counting()))
        assertEquals(13L, core.count("egg").tiles.first { it.what == "egg" }.number.toLong())
        core.close()
    }

    @Test
    fun aSecondObjectIsToldToUseTheFirst() {
        val core = open()
        assertThrows(Failure.UseTheOther::class.java) { open() }
        core.close()
        open().close()
    }

    @Test
    fun whatIsNotAllowedSaysWhyInTheLanguageThatWasChosen() {
        val core = open()
        Scene.counting(core)
        core.setLanguage("fr-CA")
        val failure = assertThrows(Failure.Refused::class.java) { core.emptyPlant() }
        assertTrue(failure.text, "plante" in failure.text)
        assertThrows(Failure.Refused::class.java) { core.count("no-such-stage") }
        core.close()
    }

    /** Killed with SIGKILL at one act after another: what was shown last is there, or the act that was under way as well. */
    @Test
    fun aKillLosesNothingThatWasShown() {
        val core = open()
        Scene.visit(core, Scene.site(core))
        core.openPlant("Asclepias syriaca")
        core.close()
        for (acts in 1..KILLS) {
            val died = Elsewhere.countAndDie(File(folder, "journal"), File(folder, "marker"), acts)
            val again = open()
            val shown = Elsewhere.line(again.counting())
            if (shown != died.last()) {
                // One act more than was shown: taking it back leads to what was shown, but for the label of undo.
                val back = Elsewhere.line(again.takeBack())
                assertTrue("$shown after ${died.takeLast(2)}", tiles(back) == tiles(died.last()) || tiles(shown) in died.takeLast(5).map(::tiles))
            }
            again.close()
        }
    }

    /** The storage of the phone fills up in the middle of a visit: it is said, what was shown stays, and room lets it go on. */
    @Test
    fun aFullStorageIsSaidAndLosesNothing() {
        val said = Full.run(File(folder, "disk").apply { mkdirs() })
        org.junit.Assume.assumeTrue("this machine lets nobody mount a disk for himself", said != null)
        val lines = said!!.joinToString("\n")
        assertTrue(lines, "refused: FreeSpace" in lines)
        assertTrue(lines, "same: true" in lines && "counted: true next: true" in lines)
    }

    private fun tiles(line: String) = line.substringBeforeLast('|')

    private companion object {
        const val KILLS = 50
    }
}
