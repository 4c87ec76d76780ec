package leafturn.phone

import java.io.File
import java.io.RandomAccessFile
import leafturn.core.Beside
import leafturn.core.Failure
import leafturn.core.Leafturn
import leafturn.core.Opening

/**
 * A phone whose storage fills up, in a process of its own that has a small disk in memory mounted for itself alone. It
 * says line by line what came of it.
 */
object Full {
    private const val DISK = "2m"
    private const val LEFT = 300 * 1024
    private const val MOST_ACTS = 20_000

    /** Counts until there is no room, frees some, and counts on. */
    @JvmStatic
    fun main(arguments: Array<String>) {
        val disk = File(arguments.single())
        val core = Leafturn.open(Opening(File(disk, "journal").path, File(disk, "marker").path, "en", (-300).toShort(), Beside.OWN))
        Scene.visit(core, Scene.site(core))
        var shown = core.openPlant("Asclepias syriaca")
        val filler = File(disk, "filler")
        RandomAccessFile(filler, "rw").use { it.write(ByteArray((disk.usableSpace - LEFT).toInt().coerceAtLeast(0))) }
        val refused = (1..MOST_ACTS).firstNotNullOfOrNull {
            try {
                shown = core.count("egg")
                null
            } catch (failure: Failure) {
                failure
            }
        }
        println("refused: ${refused?.javaClass?.simpleName} ${refused?.words}")
        println("same: ${Elsewhere.line(shown) == Elsewhere.line(core.counting())}")
        filler.delete()
        val number = shown.tiles.first { it.what == "egg" }.number
        println("counted: ${number > 0u} next: ${core.count("egg").tiles.first { it.what == "egg" }.number == number + 1u}")
    }

    /** What it said; `null` where this machine lets nobody mount a disk for himself. */
    fun run(folder: File): List<String>? {
        val mount = "mount -t tmpfs -o size=$DISK none '${folder.path}'"
        if (ProcessBuilder("unshare", "-rm", "sh", "-c", mount).start().waitFor() != 0) return null
        val java = Elsewhere.java(Full::class.java.name, folder.path).joinToString(" ") { "'$it'" }
        val process = ProcessBuilder("unshare", "-rm", "sh", "-c", "$mount && exec $java").redirectErrorStream(true).start()
        val said = process.inputStream.bufferedReader().readLines()
        check(process.waitFor() == 0) { said.joinToString("\n") }
        return said
    }
}
