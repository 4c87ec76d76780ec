package leafturn.phone

import android.app.Application
import java.io.File
import leafturn.core.Beside
import leafturn.core.Leafturn
import leafturn.core.Opening
import leafturn.phone.device.KeyStoreVault
import leafturn.phone.device.Vault
import leafturn.phone.send.CoreJudge
import leafturn.phone.send.SendRun
import leafturn.phone.send.Wire

/** What lives as long as the process: one core for screens and jobs alike. */
open class LeafturnApp : Application() {
    val settings by lazy { Settings(this) }
    val vault by lazy { makeVault() }
    val core by lazy { Core { Leafturn.open(opening()) } }
    val send by lazy { SendRun(core, Wire(journal, { settings.station }, { vault.token }, cleartext(), CoreJudge(core))) }

    /** Which journal is opened: the phone's own, or a fresh one beside that of a newer version. */
    var beside = Beside.OWN

    /** The folder of the journal, of which no backup takes a copy. */
    val journal get() = File(noBackupFilesDir, "journal")

    protected open fun makeVault(): Vault = KeyStoreVault(this)

    /** Only tests talk to a station without encryption, and only on this machine. */
    protected open fun cleartext() = Wire.Cleartext.REFUSED

    private fun opening() = Opening(
        folder = journal.path,
        noBackupFolder = File(noBackupFilesDir, "marker").path,
        language = settings.language,
        offsetMinutes = offsetMinutes(),
        beside = beside,
    )
}
