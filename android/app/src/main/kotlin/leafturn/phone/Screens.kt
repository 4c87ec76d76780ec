package leafturn.phone

import android.view.KeyEvent
import leafturn.phone.device.Camera
import leafturn.phone.device.Handed
import leafturn.phone.lead.AddSiteLead
import leafturn.phone.lead.BesideLead
import leafturn.phone.lead.CountingLead
import leafturn.phone.lead.KeyLead
import leafturn.phone.lead.MeasureLead
import leafturn.phone.lead.OwnLead
import leafturn.phone.lead.ReviewLead
import leafturn.phone.lead.SendingLead
import leafturn.phone.lead.SiteLead
import leafturn.phone.lead.SitesLead

/** Leads to each place: the call that gives its record, the function that draws it, the calls that its targets make. */
class Screens(private val home: MainActivity) {
    val sending = SendingLead(home)
    val counting = CountingLead(home)
    val sites = SitesLead(home)
    val add = AddSiteLead(home)
    private val site = SiteLead(home)
    private val key = KeyLead(home)
    private val measure = MeasureLead(home)
    private val beside = BesideLead(home)
    private val own = OwnLead(home)
    private val review = ReviewLead(home)

    fun draw(place: Place) {
        if (place != Place.Counting) counting.leave()
        when (place) {
            Place.Sites -> sites.list()
            Place.AddSite -> add.page()
            is Place.Start -> sites.start(place.site)
            is Place.Site -> site.page(place.site)
            is Place.SiteNotes -> beside.notes(place.site)
            Place.Counting -> counting.pad()
            Place.Undecided -> counting.undecided()
            Place.States -> counting.states()
            Place.Hosts -> counting.hosts()
            Place.More -> counting.more()
            Place.Advice -> counting.advice()
            Place.Photo -> counting.photo()
            Place.Review -> review.review()
            Place.Matching -> review.matching()
            Place.Sending -> sending.sending()
            Place.Join -> sending.join()
            Place.KeyStart -> key.start()
            Place.Key -> key.key()
            is Place.Measure -> measure.draw(place.character)
            Place.Practice -> key.practice()
            is Place.Details -> beside.details(place)
            Place.Weather -> beside.weather()
            is Place.Visit -> beside.visit(place)
            Place.Notes -> beside.notes(null)
            is Place.Outside -> beside.outside(place.site)
            is Place.Season -> sites.season(place.site)
            Place.SettingsPage -> own.settings()
            Place.Cautions -> own.cautions()
            Place.Mine -> own.mine()
            Place.Licences -> own.licences()
        }
    }

    /** The camera came back: what it took goes to who asked for it, and nothing of it stays behind. */
    fun photoTaken(came: Boolean) {
        val file = Handed.file(home, Handed.PHOTO)
        val jpeg = if (came) Camera.taken(file) else null
        file.delete()
        when (home.typed("photo-for")) {
            "measure" -> measure.photoTaken(jpeg)
            "shown" -> beside.photoTaken(jpeg)
            else -> counting.photoTaken(jpeg)
        }
    }

    /** The question for the exact place was answered, which two screens ask. */
    fun placeAnswered() = if (home.place == Place.Sites) sites.answered() else add.pin.answered()

    /** The app is not looked at: nothing goes on on its behalf. */
    fun unseen() {
        add.pin.stop()
        sites.stop()
        sending.unseen()
    }

    fun key(event: KeyEvent): Boolean = counting.key(event)
}
