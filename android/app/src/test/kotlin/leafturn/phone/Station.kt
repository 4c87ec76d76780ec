package leafturn.phone

import android.database.sqlite.SQLiteDatabase
import java.io.File
import org.json.JSONObject
import org.robolectric.util.ReflectionHelpers

/** A real station: the `leafturn` program as a process of its own, on a free port of this machine. */
class Station(private val folder: File, serving: List<String> = listOf(), listen: String = "127.0.0.1:0") : AutoCloseable {
    private val program: String = System.getProperty("leafturn.station")
    private val process = ProcessBuilder(program, "serve", "--json", "--listen", listen, "--data", folder.path, *serving.toTypedArray())
        .redirectError(File(folder.also { it.mkdirs() }, "log"))
        .start()

    val address: String = JSONObject(process.inputStream.bufferedReader().readLine()).getString("listening")

    /** A code for one phone that may read this site. */
    fun invite(site: String): String =
        JSONObject(run("invite", "--json", "--name=Invented phone", "--site=$site")).getString("code")

    /** Takes in a file that a phone made. */
    fun takeIn(file: File) = run("take-in", file.path)

    /** The text of an invitation as a picture to scan has it. */
    fun inviteToScan(site: String): String =
        JSONObject(run("invite", "--json", "--name=Invented phone", "--site=$site")).getString("scan")

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
        /** A station with a certificate of its own making, which nobody vouches for. */
        fun withCertificate(folder: File, listen: String = "127.0.0.1:0"): Station {
            val pair = File(folder, "tls/station.pem").path
            val make = ProcessBuilder(System.getProperty("leafturn.station"), "certificate", "make", "--name", "127.0.0.1", "--data", folder.path)
            if (!File(pair).exists()) check(make.redirectErrorStream(true).start().also { it.inputStream.readBytes() }.waitFor() == 0)
            return Station(folder, listOf("--certificate", pair, "--key", pair, "--next-key", File(folder, "tls/next-key.pem").path), listen)
        }

        fun folderOf(name: String) = File(System.getProperty("leafturn.scratch"), "station-$name-${System.nanoTime()}")

        fun ofTest(name: String) = Station(folderOf(name))
    }
}

/** As before level 34, where "send now" performs the requests at once. */
fun sendNow(walk: Walk) {
    ReflectionHelpers.setStaticField(android.os.Build.VERSION::class.java, "SDK_INT", 33)
    walk.app.settings.askedNotification = true
    walk.tap("send-now")
    ReflectionHelpers.setStaticField(android.os.Build.VERSION::class.java, "SDK_INT", 35)
}
