package leafturn.phone

import java.io.File
import leafturn.core.Beside
import leafturn.core.CountingScreen
import leafturn.core.Leafturn
import leafturn.core.Opening

/**
 * The core in a process of its own, which is killed with SIGKILL while it counts. After each act that the core returned
 * from it says what a screen would show; the rest of its life is a race against the kill.
 */
object Elsewhere {
    /** Counts plant after plant until it is killed. */
    @JvmStatic
    fun main(arguments: Array<String>) {
        val (journal, marker) = arguments
        val core = Leafturn.open(Opening(journal, marker, "en", (-300).toShort(), Beside.OWN))
        say(core.counting())
        while (true) {
            say(core.count("larva2"))
            say(core.count("larva2"))
            say(core.takeBack())
            say(core.count("egg+none"))
            say(core.nextPlant())
        }
    }

    /** What a counting screen shows, in one line. */
    fun line(shown: CountingScreen): String =
        (listOf(shown.title, shown.progress) + (shown.tiles + shown.undecided).map { "${it.what}=${it.number}" } +
            (shown.takeBack?.text ?: "")).joinToString("|")

    /** Starts it on this journal, kills it after so many acts, and returns what it showed, act by act. */
    fun countAndDie(journal: File, marker: File, acts: Int): List<String> {
        val process = ProcessBuilder(java(Elsewhere::class.java.name, journal.path, marker.path)).redirectErrorStream(true).start()
        val shown = mutableListOf<String>()
        process.inputStream.bufferedReader().use { lines ->
            while (shown.size <= acts) {
                val line = checkNotNull(lines.readLine()) { "it ended by itself after $shown" }
                if (line.startsWith(MARK)) shown += line.removePrefix(MARK)
            }
            // SIGKILL: the process has no say in it. What it wrote before stays in the pipe.
            ProcessBuilder("kill", "-9", process.pid().toString()).start().waitFor()
            lines.lineSequence().filter { it.startsWith(MARK) }.forEach { shown += it.removePrefix(MARK) }
        }
        val ended = process.waitFor()
        check(ended == SIGKILLED) { "it ended with $ended" }
        return shown
    }

    /** The command for a main class of these tests with the core beside it; it lives for a moment, so little is compiled. */
    fun java(main: String, vararg arguments: String): List<String> = listOf(
        File(System.getProperty("java.home"), "bin/java").path,
        "-XX:+UseSerialGC", "-XX:TieredStopAtLevel=1", "-Xshare:auto",
        "-Djna.library.path=${System.getProperty("jna.library.path")}",
        "-cp", System.getProperty("surefire.test.class.path") ?: System.getProperty("java.class.path"),
        main, *arguments,
    )

    private fun say(shown: CountingScreen) {
        println(MARK + line(shown))
        System.out.flush()
    }

    private const val MARK = "shown: "
    private const val SIGKILLED = 137
}
