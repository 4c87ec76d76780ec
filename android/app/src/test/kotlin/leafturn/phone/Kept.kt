package leafturn.phone

import java.awt.image.BufferedImage
import java.io.File
import javax.imageio.ImageIO
import kotlin.math.abs

/**
 * Pictures of screens as they were looked at and found right, small and grey: one pixel for two dp a side. A screen that
 * is drawn differs from its kept picture if any cell of 16 x 16 dp has become lighter or darker by more than a tenth of
 * the way from black to white, which a moved edge or another letter does and another machine's rounding does not.
 */
object Kept {
    private const val DP_PER_PIXEL = 2
    private const val CELL = 8
    private const val MOST = 25.5
    private val folder = File(System.getProperty("leafturn.kept"))
    private val keep = System.getProperty("leafturn.keep").toBoolean()

    /** What differs from the kept picture of this name; nothing where none is kept. */
    fun fault(name: String, drawn: File, density: Float): String? {
        val file = File(folder, "$name.png")
        val now = small(ImageIO.read(drawn), density)
        if (keep && (file.exists() || name in wanted)) {
            file.parentFile.mkdirs()
            ImageIO.write(now, "png", file)
        }
        if (!file.exists()) return "$name is to be kept, and is not".takeIf { name in wanted }
        val kept = ImageIO.read(file)
        if (kept.width != now.width || kept.height != now.height) return "$name has another size than the kept picture"
        val (worst, at) = cells(kept).map { cell -> abs(mean(kept, cell) - mean(now, cell)) to cell }.maxBy { it.first }
        return "$name differs from the kept picture by %.0f of 255 at %s".format(worst, at).takeIf { worst > MOST }
    }

    private val wanted: Set<String> by lazy { File(folder, "list").readLines().filter { it.isNotBlank() }.toSet() }

    private fun small(whole: BufferedImage, density: Float): BufferedImage {
        val scale = density * DP_PER_PIXEL
        val out = BufferedImage((whole.width / scale).toInt(), (whole.height / scale).toInt(), BufferedImage.TYPE_BYTE_GRAY)
        val grey = BufferedImage(whole.width, whole.height, BufferedImage.TYPE_BYTE_GRAY)
        grey.createGraphics().apply { drawImage(whole, 0, 0, null) }.dispose()
        for (y in 0 until out.height) {
            for (x in 0 until out.width) {
                val area = listOf(x * scale, y * scale, (x + 1) * scale, (y + 1) * scale).map(Float::toInt)
                out.raster.setSample(x, y, 0, mean(grey, area[0] until area[2], area[1] until area[3]))
            }
        }
        return out
    }

    private fun cells(picture: BufferedImage): List<Pair<Int, Int>> =
        (0 until picture.height step CELL).flatMap { y -> (0 until picture.width step CELL).map { x -> x to y } }

    private fun mean(picture: BufferedImage, cell: Pair<Int, Int>): Double {
        val (x, y) = cell
        return mean(picture, x until minOf(x + CELL, picture.width), y until minOf(y + CELL, picture.height))
    }

    private fun mean(picture: BufferedImage, across: IntRange, down: IntRange): Double {
        var sum = 0L
        for (y in down) for (x in across) sum += picture.raster.getSample(x, y, 0)
        return sum.toDouble() / (across.count() * down.count())
    }
}
