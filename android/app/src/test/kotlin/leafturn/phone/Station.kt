package leafturn.phone

import android.database.sqlite.SQLiteDatabase
import java.io.File
import org.json.JSONObject

/** A real station: the `leafturn` program as a process of its own, on a free port of this machine. */
class Station(private val folder: File) : AutoCloseable {
    private val program: String = System.getProperty("leafturn.station")
    private val process = ProcessBuilder(program, "serve", "--json", "--listen", "127.0.0.1:0", "--data", folder.path)
        .redirectError(File(folder.also { it.mkdirs() }, "log"))
        .start()

    val address: String = JSONObject(process.inputStream.bufferedReader().readLine()).getString("listening")

    /** A code for one phone that may read this site. */
    fun invite(site: String): String =
        JSONObject(run("invite", "--json", "--name=Invented phone", "--site=$site")).getString("code")

    /** Takes in a file that a phone made. */
    fun takeIn(file: File) = run("take-in", file.path)

    fun check(): JSONObject = JSONObject(run("check", "--json"))

    /** What the station says of all sites. */
    fun report(): JSONObject = JSONObject(run("report", "--all", "--json"))

    /** Takes the token of every phone that has joined. */
    fun revokeAll() = devices().forEach { run("device", "revoke", it) }

    private fun devices(): List<String> =
        SQLiteDatabase.openDatabase(File(folder, "station.sqlite").path, null, SQLiteDatabase.OPEN_READONLY).use { db ->
            db.rawQuery("SELECT DISTINCT lower(hex(claim_device)) FROM streams WHERE claim_device IS NOT NULL", null).use { rows ->
                generateSequence { if (rows.moveToNext()) rows.getString(0) else null }.map(::id).toList()
            }
        }

    /** The written form of an id of 16 octets. */
    private fun id(hex: String) = Regex("(.{8})(.{4})(.{4})(.{4})(.{12})").replace(hex, "$1-$2-$3-$4-$5")

    /** This phone with a counted plant, joined by the screens; everything that it has is sent. */
    fun joinedBy(walk: Walk): Walk {
        val site = (walk.app.core.wait { Scene.site(it).also { site -> Scene.visit(it, site) } } as Outcome.Done).value
        walk.home.go(Place.Join)
        walk.settle()
        walk.type("station", address)
        walk.type("code", invite(site))
        walk.tap("join-now")
        walk.until("joined and sent") { walk.says("All sent") && walk.maybe("send-now") != null }
        return walk
    }

    override fun close() {
        process.destroyForcibly().waitFor()
    }

    private fun run(vararg arguments: String): String {
        val command = listOf(program) + arguments + listOf("--data", folder.path)
        val errors = File(folder, "errors")
        val run = ProcessBuilder(command).redirectError(errors).start()
        val said = run.inputStream.bufferedReader().readText()
        check(run.waitFor() == 0) { "$command: $said ${errors.readText()}" }
        return said
    }

    companion object {
        fun ofTest(name: String) = Station(File(System.getProperty("leafturn.scratch"), "station-$name-${System.nanoTime()}"))
    }
}
