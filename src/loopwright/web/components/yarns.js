// The cloth at yarn level. Centre lines come by an address of their own, never through the page's socket.
import { YarnView } from "loopwright-workroom/yarns.js";

export default {
  template: `<figure class="yarn-view"><div></div><figcaption v-if="now">{{ now }}</figcaption></figure>`,
  props: { url: String, still: String, label: String, caption: String, link: String },
  data() {
    return { now: this.caption };
  },
  mounted() {
    this.$el.addEventListener("cloth", ({ detail }) => {
      this.now = detail.caption;
      this.view.change(detail);
    });
    this.view = new YarnView(this.$el.firstElementChild, this.$props);
  },
  unmounted() {
    this.view.leave();
  },
  watch: {
    url(url) {
      this.view.load(url);
    },
  },
};
