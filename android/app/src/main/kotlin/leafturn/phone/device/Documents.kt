package leafturn.phone.device

import android.app.Activity
import android.content.ActivityNotFoundException
import android.content.Intent
import android.net.Uri
import java.io.IOException

/** A file that the person picks, in the phone's own picker, which needs no permission of ours. */
object Documents {
    const val REQUEST = 4

    /** An edge with a hundred thousand corners is smaller than that. */
    private const val MOST_OCTETS = 8 * 1024 * 1024

    /** Opens the picker; returns whether there is one. */
    fun open(activity: Activity): Boolean = try {
        // Phones know few of the types of such files, so all are shown; the core says what it can read.
        val ask = Intent(Intent.ACTION_OPEN_DOCUMENT).addCategory(Intent.CATEGORY_OPENABLE).setType("*/*")
        activity.startActivityForResult(ask, REQUEST)
        true
    } catch (_: ActivityNotFoundException) {
        false
    }

    /** What the file holds; `null` where it cannot be read. Of a longer file the beginning, which the core refuses. */
    fun read(activity: Activity, address: Uri): ByteArray? = try {
        activity.contentResolver.openInputStream(address)?.use { it.beginning(MOST_OCTETS) }
    } catch (_: IOException) {
        null
    } catch (_: SecurityException) {
        null
    }
}
