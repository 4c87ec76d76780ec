package leafturn.phone.device

import android.Manifest.permission.ACCESS_COARSE_LOCATION
import android.Manifest.permission.ACCESS_FINE_LOCATION
import android.app.Activity
import android.content.pm.PackageManager
import android.location.Location
import android.location.LocationListener
import android.location.LocationManager
import android.os.Looper
import android.os.SystemClock

/**
 * Fixes of where the phone is, one after another, from when a person asks until it is enough. A refusal leaves everything
 * else working.
 */
class Whereabouts(private val activity: Activity) {
    private val manager = activity.getSystemService(LocationManager::class.java)
    private var listener: LocationListener? = null

    /** Whether the exact place may be asked for; a coarse one is never a site's. */
    val allowed get() = activity.checkSelfPermission(ACCESS_FINE_LOCATION) == PackageManager.PERMISSION_GRANTED

    fun askPermission() = activity.requestPermissions(arrayOf(ACCESS_FINE_LOCATION, ACCESS_COARSE_LOCATION), REQUEST)

    /** Hands over each fix as it comes; returns whether the phone can say where it is at all. */
    fun follow(each: (Location, ageMs: Long) -> Unit): Boolean {
        stop()
        val able = manager != null && allowed && manager.isProviderEnabled(LocationManager.GPS_PROVIDER)
        if (!able) return false
        val own = LocationListener { fix -> each(fix, (SystemClock.elapsedRealtimeNanos() - fix.elapsedRealtimeNanos) / NS_PER_MS) }
        listener = own
        manager.requestLocationUpdates(LocationManager.GPS_PROVIDER, EVERY_MS, 0f, own, Looper.getMainLooper())
        return true
    }

    fun stop() {
        listener?.let { manager?.removeUpdates(it) }
        listener = null
    }

    companion object {
        const val REQUEST = 1
        private const val EVERY_MS = 1_000L
        private const val NS_PER_MS = 1_000_000L
    }
}
