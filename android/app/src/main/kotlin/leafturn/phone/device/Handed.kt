package leafturn.phone.device

import android.content.ClipData
import android.content.ContentProvider
import android.content.ContentValues
import android.content.Context
import android.content.Intent
import android.database.Cursor
import android.database.MatrixCursor
import android.net.Uri
import android.os.ParcelFileDescriptor
import android.provider.OpenableColumns
import java.io.File
import java.io.FileNotFoundException

/**
 * Files that pass between this app and another that the person chose: a journal to hand over, a photo to be taken. They
 * lie in one folder of the cache, are named by this app alone, and are reached only by who was granted the address.
 */
class Handed : ContentProvider() {
    override fun onCreate() = true

    override fun openFile(uri: Uri, mode: String): ParcelFileDescriptor {
        val file = fileOf(uri) ?: throw FileNotFoundException()
        return ParcelFileDescriptor.open(file, ParcelFileDescriptor.parseMode(mode))
    }

    override fun query(uri: Uri, columns: Array<String>?, where: String?, with: Array<String>?, order: String?): Cursor {
        val wanted = columns ?: arrayOf(OpenableColumns.DISPLAY_NAME, OpenableColumns.SIZE)
        val file = fileOf(uri)
        val row: List<Any?> = wanted.map { own ->
            when (own) {
                OpenableColumns.DISPLAY_NAME -> file?.name
                OpenableColumns.SIZE -> file?.length()
                else -> null
            }
        }
        return MatrixCursor(wanted).apply { if (file != null) addRow(row.toTypedArray<Any?>()) }
    }

    override fun getType(uri: Uri) = fileOf(uri)?.let { if (it.name == PHOTO) "image/jpeg" else "application/gzip" }

    override fun insert(uri: Uri, values: ContentValues?): Uri? = null

    override fun update(uri: Uri, values: ContentValues?, where: String?, with: Array<String>?) = 0

    override fun delete(uri: Uri, where: String?, with: Array<String>?) = 0

    private fun fileOf(uri: Uri): File? {
        val name = uri.pathSegments.singleOrNull()?.takeIf { it in NAMES } ?: return null
        return context?.let { file(it, name) }
    }

    companion object {
        const val JOURNAL = "leafturn-journal.gz"
        const val PHOTO = "photo.jpg"

        /** The photo that is being measured; nobody else is given it. */
        const val MEASURED = "measured.jpg"
        private val NAMES = setOf(JOURNAL, PHOTO)

        fun file(context: Context, name: String) = File(File(context.cacheDir, "handed").apply { mkdirs() }, name)

        fun address(context: Context, name: String): Uri =
            Uri.Builder().scheme("content").authority("${context.packageName}.handed").appendPath(name).build()

        /** The system's choice of who gets the file. */
        fun share(context: Context, name: String): Intent {
            val address = address(context, name)
            val send = Intent(Intent.ACTION_SEND).setType("application/gzip").putExtra(Intent.EXTRA_STREAM, address)
            send.clipData = ClipData.newRawUri(name, address)
            send.addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
            return Intent.createChooser(send, null)
        }
    }
}
