package leafturn.phone.device

import android.app.Activity
import android.content.ActivityNotFoundException
import android.content.ClipData
import android.content.Intent
import android.graphics.Bitmap
import android.graphics.BitmapFactory
import android.graphics.Matrix
import android.media.ExifInterface
import android.provider.MediaStore
import java.io.ByteArrayOutputStream
import java.io.File

/** The phone's own camera app, which needs no permission of ours; what it gives is turned upright and made small enough. */
object Camera {
    const val REQUEST = 2

    /** The longest side of a photo, in pixels, and how well it is kept. */
    private const val LONGEST = 2560
    private const val QUALITY = 88

    /** Opens the camera; returns whether there is one. */
    fun open(activity: Activity): Boolean {
        Handed.file(activity, Handed.PHOTO).delete()
        val address = Handed.address(activity, Handed.PHOTO)
        val ask = Intent(MediaStore.ACTION_IMAGE_CAPTURE).putExtra(MediaStore.EXTRA_OUTPUT, address)
        ask.clipData = ClipData.newRawUri(Handed.PHOTO, address)
        ask.addFlags(Intent.FLAG_GRANT_WRITE_URI_PERMISSION or Intent.FLAG_GRANT_READ_URI_PERMISSION)
        return try {
            activity.startActivityForResult(ask, REQUEST)
            true
        } catch (_: ActivityNotFoundException) {
            false
        } catch (_: SecurityException) {
            false
        }
    }

    /** What the camera left: a JPEG, upright, at most 2,560 px a side; `null` where it left nothing that can be drawn. */
    fun taken(file: File): ByteArray? {
        val size = BitmapFactory.Options().apply { inJustDecodeBounds = true }
        BitmapFactory.decodeFile(file.path, size)
        val longest = maxOf(size.outWidth, size.outHeight)
        if (longest <= 0) return null
        val coarse = BitmapFactory.Options().apply { inSampleSize = Integer.highestOneBit(maxOf(1, longest / LONGEST)) }
        val picture = BitmapFactory.decodeFile(file.path, coarse) ?: return null
        val scale = minOf(1f, LONGEST.toFloat() / maxOf(picture.width, picture.height))
        val turned = Matrix().apply {
            postScale(scale, scale)
            postConcat(upright(file))
        }
        val out = ByteArrayOutputStream()
        Bitmap.createBitmap(picture, 0, 0, picture.width, picture.height, turned, true).compress(Bitmap.CompressFormat.JPEG, QUALITY, out)
        return out.toByteArray()
    }

    /** How the stored picture is turned to stand as it was seen: orientations 1 to 8 of Exif 2.32, table of tag 274. */
    private fun upright(file: File) = Matrix().apply {
        when (ExifInterface(file.path).getAttributeInt(ExifInterface.TAG_ORIENTATION, 1)) {
            2 -> postScale(-1f, 1f)
            3 -> postRotate(180f)
            4 -> postScale(1f, -1f)
            5 -> { postRotate(90f); postScale(-1f, 1f) }
            6 -> postRotate(90f)
            7 -> { postRotate(-90f); postScale(-1f, 1f) }
            8 -> postRotate(-90f)
        }
    }
}
