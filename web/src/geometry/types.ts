/** Places on site in metres, places on the screen in pixels; the two never mix by accident. */

declare const unit: unique symbol;

export type Metres = number & { readonly [unit]?: "m" };

/** East and north on the site grid. */
export type SitePoint = readonly [east: Metres, north: Metres];

/** Pixels from the left and the top of the plan. */
export type ScreenPoint = readonly [x: number, y: number];
