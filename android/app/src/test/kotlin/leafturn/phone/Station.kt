package leafturn.phone

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

    fun check(): JSONObject = JSONObject(run("check", "--json"))

    /** What the station says of all sites. */
    fun report(): JSONObject = JSONObject(run("report", "--all", "--json"))

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
}
